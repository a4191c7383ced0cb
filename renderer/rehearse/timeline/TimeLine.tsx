import { useEffect, useMemo, useSyncExternalStore } from 'react'
import { useClockView } from '../playback/use-clock.ts'
import type { TimeLineController } from './controller.ts'
import { drawTimeLine } from './draw.ts'
import { mostVolts } from './draw-supply.ts'
import { listenToGestures } from './gestures.ts'
import { frameOf } from './session.ts'
import { useCanvas } from './use-canvas.ts'
import { saySpan, ZOOM_LEVELS, type ZoomLevel } from './viewport.ts'
import { sayFrame, sayMomentInWords } from './words.ts'

const levelWords: Readonly<Record<ZoomLevel, string>> = {
  session: 'Whole session',
  frame: 'Frame',
  octet: 'Octet',
  bit: 'Bit',
}

/** The traffic of the session, from all of it down to one bit. */
export function TimeLine({ controller }: { controller: TimeLineController }) {
  const { session, clock } = controller
  const shown = useSyncExternalStore(controller.subscribe, controller.read)
  const most = useMemo(() => mostVolts(session), [session])
  const { ref, redraw } = useCanvas(pen =>
    drawTimeLine(pen, {
      session,
      view: controller.view,
      headNs: clock.atNs,
      selected: controller.read().selected,
      mostVolts: most,
    }),
  )
  useEffect(() => controller.onDraw(redraw), [controller, redraw])
  useEffect(
    () => (ref.current === null ? undefined : listenToGestures(ref.current, controller)),
    [controller, ref],
  )

  return (
    <section className="rh-timeline" aria-label="Time line of the traffic">
      <div className="rh-timeline-tools">
        <fieldset className="rh-segments">
          <legend className="rh-hidden">Zoom to</legend>
          {ZOOM_LEVELS.map(level => (
            <button
              key={level}
              type="button"
              className="rh-segment"
              aria-pressed={shown.level === level}
              onClick={() => controller.show(level)}
            >
              {levelWords[level]}
            </button>
          ))}
        </fieldset>
        <button type="button" className="rh-button" aria-label="Zoom out" onClick={() => controller.zoom(-1)}>
          −
        </button>
        <button type="button" className="rh-button" aria-label="Zoom in" onClick={() => controller.zoom(1)}>
          +
        </button>
        <span className="rh-soft rh-figures">{saySpan(shown.spanNs)} in view</span>
        <span className="rh-spring" />
        <button type="button" className="rh-button" onClick={() => controller.stepFrame(-1)}>
          Previous frame
        </button>
        <button type="button" className="rh-button" onClick={() => controller.stepFrame(1)}>
          Next frame
        </button>
      </div>
      <TimeLineCanvas controller={controller} canvasRef={ref} spanNs={shown.spanNs} />
      <TimeLineCaption controller={controller} />
    </section>
  )
}

function TimeLineCanvas(props: {
  controller: TimeLineController
  canvasRef: React.RefObject<HTMLCanvasElement | null>
  spanNs: number
}) {
  const { atNs, playing } = useClockView(props.controller.clock)
  const words = sayMomentInWords(props.controller.session, atNs, props.spanNs)
  return (
    <>
      <canvas
        ref={props.canvasRef}
        className={`rh-timeline-canvas rh-lanes-${Math.min(2, props.controller.session.lanes.length)}`}
        role="img"
        aria-label={`Waveform, octets and frames. ${words} The tab Frames has them as a list.`}
      />
      <p className="rh-hidden" aria-live="polite">
        {playing ? '' : words}
      </p>
    </>
  )
}

/** One line under the picture: the frame under the pointer, else the chosen one, else what the marks mean. */
function TimeLineCaption({ controller }: { controller: TimeLineController }) {
  const { hovered, selected } = useSyncExternalStore(controller.subscribe, controller.read)
  const ref = hovered ?? selected
  const frame = ref && frameOf(controller.session, ref)
  return (
    <p className="rh-caption rh-soft">
      {frame === undefined
        ? 'Marks: × collision, zigzag noise, ring lost. Wheel or + and − zoom, drag pulls, a click goes there.'
        : `Frame ${(ref?.rank ?? 0) + 1}, ${saySpan(frame.endNs - frame.startNs)}. ${sayFrame(frame)}`}
    </p>
  )
}
