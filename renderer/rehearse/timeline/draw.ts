import { drawFrames, drawOctets } from './draw-frames.ts'
import { type Band, drawLane } from './draw-lane.ts'
import { fitText } from './draw-marks.ts'
import { drawSupply, drawVolts } from './draw-supply.ts'
import { GUTTER, type Row, rowsFor } from './rows.ts'
import { type FrameRef, hasSupply, type LineSession } from './session.ts'
import type { Pen } from './use-canvas.ts'
import { sayMoment, ticksOf, type Viewport, xOf } from './viewport.ts'

export interface TimeLineState {
  readonly session: LineSession
  readonly view: Viewport
  readonly headNs: number
  readonly selected: FrameRef | undefined
  /** Top of the supply row's scale. */
  readonly mostVolts: number
}

/** The whole time line: axis, supply, and for each lane waveform, octets and frames, with the play head over all. */
export function drawTimeLine(pen: Pen, state: TimeLineState): void {
  const { context, palette } = pen
  const width = pen.width - GUTTER
  const rows = rowsFor(state.session.lanes.length, pen.height, hasSupply(state.session))
  context.clearRect(0, 0, pen.width, pen.height)
  for (const row of rows) drawName(pen, row, state)
  context.save()
  context.translate(GUTTER, 0)
  context.beginPath()
  context.rect(0, 0, width, pen.height)
  context.clip()
  drawOutside(pen, state, width)
  drawAxis({ context, palette, view: state.view, width, top: 0, height: rows[0].height }, pen.height)
  for (const row of rows)
    drawRow({ context, palette, view: state.view, width, top: row.top, height: row.height }, row, state)
  const supply = rows.find(row => row.kind === 'supply')
  if (supply !== undefined)
    drawVolts(
      { context, palette, view: state.view, width, top: supply.top, height: supply.height },
      state.session,
      state.headNs,
    )
  drawHead(pen, xOf(state.view, width, state.headNs))
  context.restore()
}

function drawRow(band: Band, row: Row, state: TimeLineState): void {
  const lane = state.session.lanes[row.laneNumber]
  if (row.kind === 'supply') drawSupply(band, state.session, state.mostVolts)
  if (row.kind === 'wave') drawLane(band, lane)
  if (row.kind === 'octets') drawOctets(band, lane)
  if (row.kind === 'frames')
    drawFrames(band, lane, state.selected?.laneNumber === row.laneNumber ? state.selected.rank : undefined)
}

function drawName({ context, palette }: Pen, row: Row, state: TimeLineState): void {
  const { session } = state
  const lane = session.lanes[row.laneNumber]?.lane
  const words: Record<Row['kind'], readonly string[]> = {
    axis: ['Time'],
    supply: ['Supply', session.brownOutVolts === undefined ? '' : `resets < ${session.brownOutVolts} V`],
    wave: [lane?.label ?? '', lane === undefined ? '' : `${lane.baud.toLocaleString('en')} bit/s`],
    octets: ['Octets'],
    frames: ['Frames'],
  }
  context.textAlign = 'left'
  context.textBaseline = 'alphabetic'
  context.fillStyle = palette.ink
  context.font = `${row.kind === 'wave' || row.kind === 'supply' ? '600 ' : ''}13px ${palette.sans}`
  const [first, second] = words[row.kind]
  // A name that is too long is shortened: squeezed into the gutter nobody can read it.
  context.fillText(fitText(context, first, GUTTER - 8), 0, row.top + 13)
  context.font = `13px ${palette.sans}`
  context.fillStyle = palette.inkSoft
  if (second && row.height >= 28) context.fillText(fitText(context, second, GUTTER - 8), 0, row.top + 29)
}

function drawOutside(
  { context, palette, height }: Pen,
  { view, session }: TimeLineState,
  width: number,
): void {
  context.fillStyle = palette.sunken
  const start = xOf(view, width, 0)
  const end = xOf(view, width, session.trace.endNs)
  if (start > 0) context.fillRect(0, 0, start, height)
  if (end < width) context.fillRect(end, 0, width - end, height)
}

function drawAxis({ context, palette, view, width }: Band, height: number): void {
  const { stepNs, atNs } = ticksOf(view, width / 96)
  context.font = `13px ${palette.sans}`
  context.textAlign = 'left'
  context.textBaseline = 'alphabetic'
  for (const at of atNs) {
    const x = Math.round(xOf(view, width, at)) + 0.5
    context.strokeStyle = palette.line
    context.lineWidth = 1
    context.beginPath()
    context.moveTo(x, 4)
    context.lineTo(x, height)
    context.stroke()
    context.fillStyle = palette.inkSoft
    const text = sayMoment(at, stepNs)
    if (x + 4 + context.measureText(text).width <= width) context.fillText(text, x + 4, 13)
  }
}

function drawHead({ context, palette, height }: Pen, x: number): void {
  context.strokeStyle = palette.accent
  context.fillStyle = palette.accent
  context.lineWidth = 2
  context.beginPath()
  context.moveTo(x, 6)
  context.lineTo(x, height)
  context.stroke()
  context.beginPath()
  context.moveTo(x - 5, 0)
  context.lineTo(x + 5, 0)
  context.lineTo(x, 8)
  context.fill()
}
