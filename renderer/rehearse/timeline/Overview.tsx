import { useEffect } from 'react'
import { phaseWords } from '../../../shared/sim/trace.ts'
import { phaseIndexAt } from '../playback/state-at.ts'
import { useClockView } from '../playback/use-clock.ts'
import type { TimeLineController } from './controller.ts'
import { fitText } from './draw-marks.ts'
import { type Pen, useCanvas } from './use-canvas.ts'
import { sayClock, widestSpan } from './viewport.ts'

const PHASE_TOP = 11
const PHASE_HEIGHT = 23

/** The whole session in one strip: phases, attempts, events, the part in view and the play head. Drag to go anywhere. */
export function Overview({ controller }: { controller: TimeLineController }) {
  const { session, clock } = controller
  const { atNs } = useClockView(clock)
  const { ref, redraw } = useCanvas(pen => drawOverview(pen, controller))
  useEffect(() => controller.onDraw(redraw), [controller, redraw])
  const seekTo = (event: React.PointerEvent<HTMLCanvasElement>) => {
    const box = event.currentTarget.getBoundingClientRect()
    clock.seek(((event.clientX - box.left) / box.width) * session.trace.endNs)
  }
  const phase = session.trace.phases[phaseIndexAt(session.trace.phases, atNs)]
  const said = `${sayClock(atNs)} of ${sayClock(session.trace.endNs)}${phase ? `, ${phaseWords[phase.id]}, attempt ${phase.attempt}` : ''}`
  return (
    <canvas
      ref={ref}
      className="rh-overview"
      role="slider"
      tabIndex={0}
      aria-label="Play head"
      aria-valuemin={0}
      aria-valuemax={Math.round(session.trace.endNs / 1e6)}
      aria-valuenow={Math.round(atNs / 1e6)}
      aria-valuetext={said}
      onPointerDown={event => {
        event.currentTarget.setPointerCapture(event.pointerId)
        seekTo(event)
      }}
      onPointerMove={event => {
        if (event.currentTarget.hasPointerCapture(event.pointerId)) seekTo(event)
      }}
    />
  )
}

function drawOverview(pen: Pen, controller: TimeLineController): void {
  const { context, width, height } = pen
  const { session, clock, view } = controller
  const x = (ns: number) => (ns / session.trace.endNs) * width
  context.clearRect(0, 0, width, height)
  drawPhases(pen, controller, x)
  drawEvents(pen, controller, x)
  if (view.spanNs < widestSpan(session.units) * 0.98) {
    const left = x(view.fromNs)
    context.strokeStyle = pen.palette.inkSoft
    context.lineWidth = 1
    context.strokeRect(
      left - 1,
      PHASE_TOP - 4,
      Math.max(3, x(view.fromNs + view.spanNs) - left + 2),
      PHASE_HEIGHT + 8,
    )
  }
  const head = Math.min(width - 1, Math.max(1, x(clock.atNs)))
  context.fillStyle = pen.palette.accent
  context.fillRect(head - 1, 4, 2, height - 4)
  context.beginPath()
  context.moveTo(head - 6, 0)
  context.lineTo(head + 6, 0)
  context.lineTo(head, 9)
  context.fill()
}

function drawPhases(
  { context, palette }: Pen,
  { session, clock }: TimeLineController,
  x: (ns: number) => number,
): void {
  context.font = `13px ${palette.sans}`
  context.textAlign = 'left'
  context.textBaseline = 'middle'
  for (const phase of session.trace.phases) {
    const left = x(phase.startNs)
    const phaseWidth = Math.max(1, x(phase.endNs) - left)
    const doneWidth = Math.max(0, Math.min(phaseWidth, x(clock.atNs) - left))
    context.fillStyle = palette.raised
    context.fillRect(left, PHASE_TOP, phaseWidth, PHASE_HEIGHT)
    context.fillStyle = palette.accent
    context.globalAlpha = 0.18
    context.fillRect(left, PHASE_TOP, doneWidth, PHASE_HEIGHT)
    context.globalAlpha = 1
    if (phase.ended !== 'done') hatch(context, palette.danger, left, phaseWidth)
    context.strokeStyle = palette.line
    context.lineWidth = 1
    context.strokeRect(Math.round(left) + 0.5, PHASE_TOP + 0.5, Math.round(phaseWidth), PHASE_HEIGHT - 1)
    context.fillStyle = palette.ink
    const name = `${phaseWords[phase.id]}${phase.ended === 'done' ? '' : ' (failed)'}`
    if (phaseWidth > 34)
      context.fillText(fitText(context, name, phaseWidth - 10), left + 6, PHASE_TOP + PHASE_HEIGHT / 2 + 1)
  }
}

/** Slanted lines: an attempt that failed, by shape and not by colour alone. */
function hatch(context: CanvasRenderingContext2D, colour: string, left: number, width: number): void {
  context.save()
  context.beginPath()
  context.rect(left, PHASE_TOP, Math.max(3, width), PHASE_HEIGHT)
  context.clip()
  context.strokeStyle = colour
  context.lineWidth = 1
  context.beginPath()
  for (let at = left - PHASE_HEIGHT; at < left + Math.max(3, width); at += 6) {
    context.moveTo(at, PHASE_TOP + PHASE_HEIGHT)
    context.lineTo(at + PHASE_HEIGHT, PHASE_TOP)
  }
  context.stroke()
  context.restore()
}

function drawEvents(
  { context, palette, height }: Pen,
  { session }: TimeLineController,
  x: (ns: number) => number,
): void {
  for (const { atNs, event } of session.trace.events) {
    if (event.kind === 'phase' || event.kind === 'note') continue
    const at = x(atNs)
    const top = PHASE_TOP + PHASE_HEIGHT + 3
    context.fillStyle =
      event.kind === 'retry' ? palette.caution : event.kind === 'outcome' ? palette.ink : palette.danger
    context.beginPath()
    if (event.kind === 'retry') context.arc(at, top + 4, 3, 0, 2 * Math.PI)
    else {
      context.moveTo(at, top)
      context.lineTo(at + 4.5, height - 1)
      context.lineTo(at - 4.5, height - 1)
    }
    context.fill()
  }
}
