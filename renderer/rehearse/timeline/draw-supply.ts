import { supplyAt, supplyRange } from '../playback/state-at.ts'
import type { Band } from './draw-lane.ts'
import type { LineSession } from './session.ts'
import { nsAt, xOf } from './viewport.ts'

/** Room above the highest voltage there was. */
const HEADROOM = 1.12

export const mostVolts = (session: LineSession): number => {
  const { supply } = session.trace
  let most = session.brownOutVolts ?? 1
  for (let i = 0; i < supply.count; i++) most = Math.max(most, supply.volts[i])
  return most * HEADROOM
}

/** Supply voltage as a stepped line with the brown-out level under it. */
export function drawSupply(
  { context, palette, view, width, top, height }: Band,
  session: LineSession,
  most: number,
): void {
  const y = (volts: number) => top + height - 1 - (volts / most) * (height - 2)
  context.strokeStyle = palette.line
  context.lineWidth = 1
  context.strokeRect(0.5, top + 0.5, width, height - 1)
  if (session.brownOutVolts !== undefined) {
    context.strokeStyle = palette.danger
    context.setLineDash([4, 3])
    context.beginPath()
    context.moveTo(0, Math.round(y(session.brownOutVolts)) + 0.5)
    context.lineTo(width, Math.round(y(session.brownOutVolts)) + 0.5)
    context.stroke()
    context.setLineDash([])
  }
  context.fillStyle = palette.ink
  for (let x = 0; x < width; x++) {
    const fromNs = nsAt(view, width, x)
    if (fromNs < 0 || fromNs > session.trace.endNs) continue
    const range = supplyRange(session.trace.supply, fromNs, nsAt(view, width, x + 1))
    if (range === undefined) continue
    context.fillRect(x, y(range[1]) - 0.75, 1, Math.max(1.5, y(range[0]) - y(range[1]) + 1.5))
  }
}

/** The voltage at the play head, written beside it. */
export function drawVolts(
  { context, palette, view, width, top, height }: Band,
  session: LineSession,
  headNs: number,
): void {
  const point = supplyAt(session.trace.supply, headNs)
  if (point === undefined) return
  const text = `${point.volts.toFixed(2)} V`
  context.font = `600 13px ${palette.sans}`
  context.textAlign = 'left'
  context.textBaseline = 'alphabetic'
  const textWidth = context.measureText(text).width
  const x = Math.min(width - textWidth - 6, xOf(view, width, headNs) + 6)
  context.fillStyle = palette.raised
  context.fillRect(x - 2, top + height - 17, textWidth + 4, 15)
  context.fillStyle = palette.ink
  context.fillText(text, x, top + height - 5)
}
