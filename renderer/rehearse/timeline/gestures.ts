import type { TimeLineController } from './controller.ts'
import { GUTTER, rowAt, rowsFor } from './rows.ts'
import { type FrameRef, hasSupply } from './session.ts'
import { nsAt, widestSpan } from './viewport.ts'

/** A press that moves less than this is a click. */
const CLICK_PX = 4

/** The frame under a point of the canvas, if any. */
export function frameAt(
  controller: TimeLineController,
  canvas: HTMLElement,
  x: number,
  y: number,
): FrameRef | undefined {
  const { session, view } = controller
  const row = rowAt(rowsFor(session.lanes.length, canvas.clientHeight, hasSupply(session)), y)
  if (row === undefined || row.laneNumber < 0 || x < GUTTER) return undefined
  const width = canvas.clientWidth - GUTTER
  const reachNs = (view.spanNs / width) * 2
  const atNs = nsAt(view, width, x - GUTTER)
  const { index } = session.lanes[row.laneNumber]
  const under = index.at(atNs)
  if (under !== undefined) return { laneNumber: row.laneNumber, rank: under }
  const { first, last } = index.window(atNs - reachNs, atNs + reachNs)
  return last > first ? { laneNumber: row.laneNumber, rank: first } : undefined
}

/**
 * Mouse, pen, finger and wheel on the time line: a click moves the play head and chooses the frame under it, a drag
 * pulls the session along under the play head, wheel and pinch zoom about the pointer, a sideways wheel pans.
 */
export function listenToGestures(canvas: HTMLCanvasElement, controller: TimeLineController): () => void {
  const pointers = new Map<number, { x: number; y: number }>()
  let pressed: { x: number; moved: boolean } | undefined
  const at = (event: MouseEvent) => {
    const box = canvas.getBoundingClientRect()
    return { x: event.clientX - box.left, y: event.clientY - box.top }
  }
  const width = () => canvas.clientWidth - GUTTER
  const timeAt = (x: number) => nsAt(controller.view, width(), x - GUTTER)
  const spread = () => {
    const [a, b] = [...pointers.values()]
    return Math.max(8, Math.abs(a.x - b.x))
  }

  const down = (event: PointerEvent) => {
    if (event.button !== 0) return
    canvas.setPointerCapture(event.pointerId)
    pointers.set(event.pointerId, at(event))
    pressed = pointers.size === 1 ? { x: at(event).x, moved: false } : undefined
  }
  const move = (event: PointerEvent) => {
    const point = at(event)
    if (pointers.size === 2 && pointers.has(event.pointerId)) {
      const before = spread()
      pointers.set(event.pointerId, point)
      const middle = [...pointers.values()].reduce((sum, p) => sum + p.x, 0) / 2
      return controller.zoomBy(before / spread(), timeAt(middle))
    }
    if (pressed === undefined) return controller.hover(frameAt(controller, canvas, point.x, point.y))
    if (!pressed.moved && Math.abs(point.x - pressed.x) < CLICK_PX) return
    const whole = controller.view.spanNs >= widestSpan(controller.session.units) * 0.999
    const byNs = ((point.x - pressed.x) / width()) * controller.view.spanNs
    controller.clock.seek(whole ? timeAt(point.x) : controller.clock.atNs - byNs)
    pressed = { x: point.x, moved: true }
  }
  const up = (event: PointerEvent) => {
    pointers.delete(event.pointerId)
    if (pressed !== undefined && !pressed.moved) {
      const { x, y } = at(event)
      const frame = frameAt(controller, canvas, x, y)
      if (x >= GUTTER) controller.clock.seek(timeAt(x))
      controller.select(frame)
    }
    pressed = undefined
  }
  const leave = () => controller.hover(undefined)
  const wheel = (event: WheelEvent) => {
    event.preventDefault()
    if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY))
      return controller.pan((event.deltaX || event.deltaY) / width())
    const pixels = event.deltaMode === 1 ? event.deltaY * 16 : event.deltaY
    controller.zoomBy(Math.exp(Math.max(-300, Math.min(300, pixels)) / 300), timeAt(at(event).x))
  }

  canvas.addEventListener('pointerdown', down)
  canvas.addEventListener('pointermove', move)
  canvas.addEventListener('pointerup', up)
  canvas.addEventListener('pointercancel', up)
  canvas.addEventListener('pointerleave', leave)
  canvas.addEventListener('wheel', wheel, { passive: false })
  return () => {
    canvas.removeEventListener('pointerdown', down)
    canvas.removeEventListener('pointermove', move)
    canvas.removeEventListener('pointerup', up)
    canvas.removeEventListener('pointercancel', up)
    canvas.removeEventListener('pointerleave', leave)
    canvas.removeEventListener('wheel', wheel)
  }
}
