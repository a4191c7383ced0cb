import { useState } from 'react'
import { fateWords } from '../../../shared/wire/decode-lane.ts'
import type { TimeLineController } from '../timeline/controller.ts'
import { frameOf } from '../timeline/session.ts'
import { sayMoment } from '../timeline/viewport.ts'
import { frameKey, framesAround } from '../timeline/words.ts'
import { useClockView } from './use-clock.ts'

const SHOWN = 60

/** The frames around the play head as a table: what the picture shows, in words. */
export function FrameTable({ controller }: { controller: TimeLineController }) {
  const { session, clock } = controller
  const { atNs } = useClockView(clock)
  const [laneNumber, setLaneNumber] = useState(0)
  const frames = framesAround(session, laneNumber, atNs, SHOWN)
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a box that scrolls has to be reachable by keyboard
    <section className="rh-scroll rh-frames" tabIndex={0} aria-label="Frames around the play head">
      {session.lanes.length > 1 ? (
        <label className="rh-field">
          Line
          <select value={laneNumber} onChange={event => setLaneNumber(Number(event.target.value))}>
            {session.lanes.map(({ lane }, i) => (
              <option key={lane.id} value={i}>
                {lane.label}
              </option>
            ))}
          </select>
        </label>
      ) : null}
      <table>
        <caption className="rh-soft">
          {frames.length} of {session.lanes[laneNumber]?.index.count ?? 0} frames, those around the play head
        </caption>
        <thead>
          <tr>
            <th scope="col">Start</th>
            <th scope="col">From</th>
            <th scope="col">Frame</th>
          </tr>
        </thead>
        <tbody>
          {frames.map(ref => {
            const frame = frameOf(session, ref)
            if (frame === undefined) return null
            const now = frame.startNs <= atNs && frame.endNs > atNs
            return (
              <tr
                key={frameKey(ref)}
                className={now ? 'rh-current' : undefined}
                aria-current={now ? 'true' : undefined}
              >
                <td className="rh-figures">{sayMoment(frame.startNs, 1e6)}</td>
                <td>{frame.talkerName}</td>
                <td>
                  <button
                    type="button"
                    className="rh-link-button"
                    onClick={() => controller.select(ref, true)}
                  >
                    {frame.title}
                  </button>
                  <br />
                  <span className="rh-soft">{frame.detail}</span>
                  {frame.fate === 'arrived' ? null : (
                    <strong className="rh-spoilt"> {fateWords[frame.fate]}</strong>
                  )}
                </td>
              </tr>
            )
          })}
        </tbody>
      </table>
    </section>
  )
}
