import { bitOnLane, bitRole, waveformIn } from '../../../shared/wire/waveform.ts'
import { columnsOf } from './density.ts'
import { drawFate, fateOfFlags, talkerColour } from './draw-marks.ts'
import type { Palette } from './palette.ts'
import type { LaneView } from './session.ts'
import { type Viewport, xOf } from './viewport.ts'

/** Where and how big: a band of the canvas and the time that it spans. */
export interface Band {
  readonly context: CanvasRenderingContext2D
  readonly palette: Palette
  readonly view: Viewport
  readonly width: number
  readonly top: number
  readonly height: number
}

/** Below this many pixels a bit, edges would be a solid block, so activity is drawn instead. */
const LEAST_BIT_PX = 0.5
/** More bursts than this in view are drawn from the density pyramid. */
const MOST_BURSTS = 1500

/** How closely a lane is looked at. */
export type Detail = 'density' | 'bursts' | 'bits'

export function detailOf(lane: LaneView, view: Viewport, width: number): Detail {
  if ((lane.index.bitNs / view.spanNs) * width >= LEAST_BIT_PX) return 'bits'
  const { first, last } = lane.index.window(view.fromNs, view.fromNs + view.spanNs)
  return last - first <= Math.min(MOST_BURSTS, width * 2) ? 'bursts' : 'density'
}

/** The lane as a line of bits, as blocks by talker, or as how busy each talker is: whatever the screen can show. */
export function drawLane(band: Band, lane: LaneView): void {
  const detail = detailOf(lane, band.view, band.width)
  if (detail === 'bits') drawBits(band, lane)
  else if (detail === 'bursts') drawBursts(band, lane)
  else drawDensity(band, lane)
}

function drawDensity({ context, palette, view, width, top, height }: Band, lane: LaneView): void {
  const columns = Math.max(1, Math.floor(width))
  const { busy, flags } = columnsOf(lane.density, view.fromNs, view.spanNs, columns)
  const { talkers } = lane.density
  const each = height / talkers
  for (let t = 0; t < talkers; t++) {
    context.fillStyle = talkerColour(palette, t)
    const bottom = top + (t + 1) * each - 1
    for (let x = 0; x < columns; x++) {
      const share = busy[x * talkers + t]
      // A single short burst in a wide column is still something that happened.
      if (share > 0)
        context.fillRect(x, bottom - Math.max(1.5, share * (each - 3)), 1, Math.max(1.5, share * (each - 3)))
    }
  }
  let lastMark = -20
  for (let x = 0; x < columns; x++) {
    const fate = fateOfFlags(flags[x])
    if (fate === undefined || x - lastMark < 11) continue
    drawFate(context, fate, x, top + 5, palette)
    lastMark = x
  }
}

function drawBursts({ context, palette, view, width, top, height }: Band, lane: LaneView): void {
  const talkers = lane.density.talkers
  const each = height / talkers
  const { first, last } = lane.index.window(view.fromNs, view.fromNs + view.spanNs)
  let lastMark = -20
  for (let rank = first; rank < last; rank++) {
    const left = Math.max(-2, xOf(view, width, lane.index.startNs[rank]))
    const right = Math.min(width + 2, xOf(view, width, lane.index.endNs[rank]))
    if (right < 0) continue
    const burst = lane.index.burst(rank)
    const talker = Math.min(talkers - 1, lane.lane.talker[burst])
    context.fillStyle = talkerColour(palette, talker)
    context.fillRect(left, top + talker * each + 2, Math.max(1.5, right - left - 0.5), each - 4)
    const fate = fateOfFlags(lane.lane.flags[burst])
    if (fate !== undefined && left - lastMark >= 9) {
      drawFate(context, fate, left + 5, top + 4, palette)
      lastMark = left
    }
  }
}

function drawBits(band: Band, lane: LaneView): void {
  const { context, palette, view, width, top, height } = band
  const toNs = view.fromNs + view.spanNs
  const wave = waveformIn(lane.index, view.fromNs, toNs, 16_000)
  const high = top + 6.5
  const low = top + height - 6.5
  drawTint(band, lane)
  context.strokeStyle = palette.ink
  context.lineWidth = 1.4
  context.beginPath()
  let level = wave.firstLevel
  context.moveTo(0, level ? high : low)
  for (const edge of wave.edgesNs) {
    const x = xOf(view, width, edge)
    context.lineTo(x, level ? high : low)
    level = (1 - level) as 0 | 1
    context.lineTo(x, level ? high : low)
  }
  context.lineTo(width, level ? high : low)
  context.stroke()
  if ((lane.index.bitNs / view.spanNs) * width >= 16) drawBitNames(band, lane)
}

/** A wash of the talker's colour under what it says; where two overlap, both show. */
function drawTint({ context, palette, view, width, top, height }: Band, lane: LaneView): void {
  const { first, last } = lane.index.window(view.fromNs, view.fromNs + view.spanNs)
  context.globalAlpha = 0.1
  for (let rank = first; rank < last; rank++) {
    const left = Math.max(0, xOf(view, width, lane.index.startNs[rank]))
    const right = Math.min(width, xOf(view, width, lane.index.endNs[rank]))
    context.fillStyle = talkerColour(palette, lane.lane.talker[lane.index.burst(rank)])
    if (right > left) context.fillRect(left, top + 1, right - left, height - 2)
  }
  context.globalAlpha = 1
}

function drawBitNames({ context, palette, view, width, top, height }: Band, lane: LaneView): void {
  const bitPx = (lane.index.bitNs / view.spanNs) * width
  const { first, last } = lane.index.window(view.fromNs, view.fromNs + view.spanNs)
  context.textAlign = 'center'
  context.textBaseline = 'middle'
  for (let rank = first; rank < last; rank++) {
    const burst = lane.index.burst(rank)
    const startNs = lane.index.startNs[rank]
    const bits = lane.lane.octetCount[burst] * lane.lane.bitsPerCharacter
    const from = Math.max(0, Math.floor((view.fromNs - startNs) / lane.index.bitNs))
    const to = Math.min(bits, Math.ceil((view.fromNs + view.spanNs - startNs) / lane.index.bitNs))
    for (let bit = from; bit < to; bit++) {
      const octet =
        lane.lane.octets[lane.lane.firstOctet[burst] + Math.floor(bit / lane.lane.bitsPerCharacter)]
      const inside = bit % lane.lane.bitsPerCharacter
      const x = xOf(view, width, startNs + (bit + 0.5) * lane.index.bitNs)
      const left = xOf(view, width, startNs + bit * lane.index.bitNs)
      context.strokeStyle = palette.line
      context.lineWidth = 1
      context.beginPath()
      context.moveTo(Math.round(left) + 0.5, top)
      context.lineTo(Math.round(left) + 0.5, top + height)
      context.stroke()
      context.fillStyle = palette.inkSoft
      context.font = `13px ${palette.mono}`
      context.fillText(
        String(bitOnLane(lane.lane, octet, inside)),
        x,
        top + height / 2 - (bitPx > 60 ? 6 : 0),
      )
      if (bitPx > 60) {
        context.font = `13px ${palette.sans}`
        const role = bitRole(lane.lane, inside)
        const dataBit = lane.lane.bitsPerCharacter === 8 ? inside : inside - 1
        context.fillText(role === 'data' ? `bit ${dataBit}` : role, x, top + height / 2 + 9)
      }
    }
  }
}
