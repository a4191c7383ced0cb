import { BURST } from '../../../shared/sim/trace.ts'
import type { FrameFate } from '../../../shared/wire/decode-lane.ts'
import type { Palette } from './palette.ts'

/** Shapes for what became of a burst, so that colour never stands alone. */
export function drawFate(
  context: CanvasRenderingContext2D,
  fate: FrameFate,
  x: number,
  y: number,
  palette: Palette,
): void {
  context.lineWidth = 1.6
  context.strokeStyle = fate === 'lost' ? palette.caution : palette.danger
  context.beginPath()
  if (fate === 'collided') {
    context.moveTo(x - 3.5, y - 3.5)
    context.lineTo(x + 3.5, y + 3.5)
    context.moveTo(x + 3.5, y - 3.5)
    context.lineTo(x - 3.5, y + 3.5)
  } else if (fate === 'noisy' || fate === 'not-a-frame') {
    context.moveTo(x - 5, y + 2.5)
    context.lineTo(x - 2, y - 3)
    context.lineTo(x + 1, y + 3)
    context.lineTo(x + 4, y - 2.5)
  } else context.arc(x, y, 3.5, 0, 2 * Math.PI)
  context.stroke()
}

export function fateOfFlags(flags: number): FrameFate | undefined {
  if (flags & BURST.collided) return 'collided'
  if (flags & BURST.lost) return 'lost'
  return flags & BURST.noisy ? 'noisy' : undefined
}

/** The talkers' colours, in the order in which they joined the lane. Their place in the row tells them apart too. */
export function talkerColour(palette: Palette, talker: number): string {
  const colours = [palette.accent, palette.ink, palette.inkSoft, palette.good, palette.caution]
  return colours[talker % colours.length]
}

/** Text cut to a width with an ellipsis; empty where not even a few letters fit. */
export function fitText(context: CanvasRenderingContext2D, text: string, width: number): string {
  if (width < 14) return ''
  if (context.measureText(text).width <= width) return text
  let low = 0
  let high = text.length
  while (low < high) {
    const middle = (low + high + 1) >> 1
    if (context.measureText(`${text.slice(0, middle)}…`).width <= width) low = middle
    else high = middle - 1
  }
  return low < 2 ? '' : `${text.slice(0, low).trimEnd()}…`
}
