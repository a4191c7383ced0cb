import { type Band, detailOf } from './draw-lane.ts'
import { drawFate, fitText, talkerColour } from './draw-marks.ts'
import type { LaneView } from './session.ts'
import { xOf } from './viewport.ts'

const LEAST_OCTET_PX = 17

/** Octets in hexadecimal, where they are wide enough to be read. */
export function drawOctets({ context, palette, view, width, top, height }: Band, lane: LaneView): void {
  const octetPx = (lane.index.characterNs / view.spanNs) * width
  if (octetPx < LEAST_OCTET_PX) {
    context.font = `13px ${palette.sans}`
    context.textAlign = 'left'
    context.textBaseline = 'middle'
    context.fillStyle = palette.inkSoft
    context.fillText('Zoom in to read them', 2, top + height / 2)
    return
  }
  const { first, last } = lane.index.window(view.fromNs, view.fromNs + view.spanNs)
  context.font = `13px ${palette.mono}`
  context.textAlign = 'center'
  context.textBaseline = 'middle'
  for (let rank = first; rank < last; rank++) {
    const burst = lane.index.burst(rank)
    const startNs = lane.index.startNs[rank]
    const count = lane.lane.octetCount[burst]
    const from = Math.max(0, Math.floor((view.fromNs - startNs) / lane.index.characterNs))
    const to = Math.min(count, Math.ceil((view.fromNs + view.spanNs - startNs) / lane.index.characterNs))
    for (let i = from; i < to; i++) {
      const octet = lane.lane.octets[lane.lane.firstOctet[burst] + i]
      const left = xOf(view, width, startNs + i * lane.index.characterNs)
      context.strokeStyle = palette.line
      context.lineWidth = 1
      context.strokeRect(Math.round(left) + 0.5, top + 0.5, Math.round(octetPx) - 1, height - 1)
      context.fillStyle = palette.ink
      const text = octet.toString(16).toUpperCase().padStart(2, '0')
      // Where one octet is wider than the screen its name stays in view.
      const middle = (Math.max(0, left) + Math.min(width, left + octetPx)) / 2
      context.fillText(octetPx > 90 ? `${text} hex, ${octet}` : text, middle, top + height / 2 + 0.5)
    }
  }
}

/** Decoded frames with their words. */
export function drawFrames(band: Band, lane: LaneView, selectedRank: number | undefined): void {
  const { context, palette, view, width, top, height } = band
  if (detailOf(lane, view, width) === 'density') {
    context.fillStyle = palette.inkSoft
    context.font = `13px ${palette.sans}`
    context.textAlign = 'left'
    context.textBaseline = 'middle'
    drawTalkerKey(band, lane)
    return
  }
  const { first, last } = lane.index.window(view.fromNs, view.fromNs + view.spanNs)
  for (let rank = first; rank < last; rank++) {
    const left = xOf(view, width, lane.index.startNs[rank])
    const right = xOf(view, width, lane.index.endNs[rank])
    if (right < 0) continue
    const boxLeft = Math.max(-1, left)
    const boxWidth = Math.min(width + 1, right) - boxLeft
    if (boxWidth < 3) {
      context.fillStyle = palette.line
      context.fillRect(boxLeft, top, 1, height)
      continue
    }
    drawFrame(band, lane, rank, boxLeft, boxWidth, rank === selectedRank)
  }
}

function drawFrame(
  band: Band,
  lane: LaneView,
  rank: number,
  left: number,
  width: number,
  selected: boolean,
): void {
  const { context, palette, top, height } = band
  const frame = lane.decoder.frame(rank)
  context.fillStyle = palette.raised
  context.fillRect(left, top, width, height)
  context.fillStyle = talkerColour(palette, frame.talker)
  context.fillRect(left, top, width, 3)
  context.strokeStyle = selected ? palette.accent : palette.line
  context.lineWidth = selected ? 2 : 1
  context.strokeRect(left + 0.5, top + 0.5, width - 1, height - 1)
  const spoilt = frame.fate !== 'arrived'
  if (spoilt && width >= 12) drawFate(context, frame.fate, left + 9, top + 12, palette)
  const inset = spoilt ? 18 : 6
  context.textAlign = 'left'
  context.textBaseline = 'alphabetic'
  context.font = `600 13px ${palette.sans}`
  context.fillStyle = palette.ink
  context.fillText(fitText(context, frame.title, width - inset - 4), left + inset, top + 16)
  if (height < 34) return
  context.font = `13px ${palette.sans}`
  context.fillStyle = palette.inkSoft
  const detail = spoilt
    ? `${frame.fate === 'not-a-frame' ? 'no whole frame' : frame.fate}; ${frame.detail}`
    : frame.detail
  context.fillText(fitText(context, detail, width - 10), left + 6, top + 31)
}

/** Far out, frames cannot be shown; the row then names the talkers' colours. */
function drawTalkerKey({ context, palette, top, height }: Band, lane: LaneView): void {
  let x = 2
  for (let t = 0; t < lane.lane.talkers.length; t++) {
    context.fillStyle = talkerColour(palette, t)
    context.fillRect(x, top + height / 2 - 5, 10, 10)
    context.fillStyle = palette.inkSoft
    context.fillText(lane.lane.talkers[t], x + 15, top + height / 2 + 0.5)
    x += 27 + context.measureText(lane.lane.talkers[t]).width
  }
}
