import { imageWords } from '../../shared/model/image-words.ts'
import { outcomeMarks } from './outcome/words.ts'
import { sayEvent } from './playback/EventList.tsx'
import type { Session } from './timeline/session.ts'
import { sayClock } from './timeline/viewport.ts'

const MOST_EVENTS = 300

/** The head of the printed sheet: that this is a rehearsal, and of what. The word stands in each page's margin too. */
export function PrintHead({ session }: { session: Session }) {
  const { report } = session
  return (
    <section className="rh-print" aria-hidden="true">
      <p className="rh-print-band">Rehearsal: simulated, nothing was written to a real receiver</p>
      <h1>
        Rehearsal of {report.receiver.nickname}: {outcomeMarks[report.outcome].word}
      </h1>
      <p>
        Image {imageWords(report.image)}, {report.route === 'cable' ? 'by cable' : 'wireless'}, seed{' '}
        {report.seed}
        {report.faults.length === 0
          ? ', no faults'
          : `, faults ${report.faults.map(f => (f.value ? `${f.name} ${f.value}` : f.name)).join(', ')}`}
        . SHA-256 of the image {report.image.sha256}.
      </p>
    </section>
  )
}

/** The events in full, for paper: the list on the screen holds only those in sight. */
export function PrintEvents({ session }: { session: Session }) {
  const { trace } = session
  return (
    <section className="rh-print" aria-hidden="true">
      <h2>Events</h2>
      <table>
        <tbody>
          {trace.events.slice(0, MOST_EVENTS).map(({ atNs, event }, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: events never change places
            <tr key={i}>
              <td className="rh-figures">{sayClock(atNs)}</td>
              <td>{sayEvent(event)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {trace.events.length > MOST_EVENTS ? (
        <p>{trace.events.length - MOST_EVENTS} more are in the saved report.</p>
      ) : null}
    </section>
  )
}
