import { effortWords } from '../../../shared/bench-run/effort.ts'
import type { RehearsalReport } from '../../../shared/rehearse/report.ts'
import { traceText } from '../../../shared/sim/trace-text.ts'
import { saveText } from '../../ui/save-text.ts'
import type { Session } from '../timeline/session.ts'
import { Findings } from './Findings.tsx'
import { Runbook } from './Runbook.tsx'
import { fileNameFor } from './save.ts'
import { outcomeMarks, sayDuration, sayFlash } from './words.ts'

interface OutcomePanelProps {
  readonly session: Session
  readonly busy: boolean
  readonly onAnotherSeed: () => void
  /** To the bench, where the same is done for real; left out where something is only tried. */
  readonly onBench?: () => void
}

/** How the rehearsal ended, why, and what follows from it. */
export function OutcomePanel({ session, busy, onAnotherSeed, onBench }: OutcomePanelProps) {
  const { report, trace } = session
  return (
    <article className="rh-outcome" aria-label="Outcome of the rehearsal">
      <OutcomeHead report={report} />
      {onBench && report.outcome === 'updated' && report.faults.length === 0 && (
        <button type="button" className="rh-button" onClick={onBench}>
          Do it for real, on the bench
        </button>
      )}
      <OutcomeFacts report={report} />
      {report.recovery === null ? <NoRecovery report={report} /> : <Runbook recovery={report.recovery} />}
      <TextList title="Do again afterwards, before any flight" items={report.afterwards} />
      <TextList title="Cautions for the real thing" items={report.cautions} caution />
      <Findings findings={report.findings} />
      <div className="rh-outcome-acts">
        <button type="button" className="rh-button" disabled={busy} onClick={onAnotherSeed}>
          Rehearse with another seed
        </button>
        <button type="button" className="rh-button" onClick={() => window.print()}>
          Print
        </button>
        <button
          type="button"
          className="rh-button"
          onClick={() => saveText(fileNameFor(report, 'report.json'), `${JSON.stringify(report, null, 2)}\n`)}
        >
          Save report
        </button>
        <button
          type="button"
          className="rh-button"
          onClick={() => saveText(fileNameFor(report, 'trace.jsonl'), traceText(trace), 'application/jsonl')}
        >
          Save trace
        </button>
      </div>
    </article>
  )
}

function OutcomeHead({ report }: { report: RehearsalReport }) {
  const { word, mark, tone } = outcomeMarks[report.outcome]
  return (
    <header className={`rh-verdict rh-verdict-${tone}`}>
      <p className="rh-soft">Outcome of this rehearsal</p>
      <p className="rh-verdict-word">
        <span className="rh-verdict-mark" aria-hidden="true">
          {mark}
        </span>{' '}
        <span>{word}</span>
      </p>
      <p className="rh-verdict-sentence">{report.sentence}</p>
      <p>{report.why}</p>
    </header>
  )
}

function OutcomeFacts({ report }: { report: RehearsalReport }) {
  const { receiver, image } = report
  return (
    <dl className="rh-facts">
      <dt>Took</dt>
      <dd className="rh-figures">{sayDuration(report.simulatedMs)}, simulated</dd>
      <dt>Attempts</dt>
      <dd className="rh-figures">{effortWords(report)}</dd>
      <dt>Firmware</dt>
      <dd className="rh-figures">
        {receiver.firmwareBefore} before, {receiver.firmwareAfter} now
      </dd>
      <dt>Flash</dt>
      <dd>{sayFlash(report)}</dd>
      {image.droppedOutsideBytes === 0 ? null : (
        <>
          <dt>Left out</dt>
          <dd className="rh-figures">
            {image.droppedOutsideBytes.toLocaleString('en')} octets outside program flash
          </dd>
        </>
      )}
      <dt>Route, seed</dt>
      <dd className="rh-figures">
        {report.route === 'cable' ? 'by cable' : 'wireless'}, {report.seed}
      </dd>
    </dl>
  )
}

function NoRecovery({ report }: { report: RehearsalReport }) {
  if (report.outcome === 'updated') return null
  return (
    <p>
      {report.outcome === 'destroyed'
        ? 'Nothing brings this receiver back.'
        : 'No recovery is needed: the receiver can be used as before.'}
    </p>
  )
}

function TextList({ title, items, caution }: { title: string; items: readonly string[]; caution?: boolean }) {
  if (items.length === 0) return null
  return (
    <section className={caution ? 'rh-cautions' : undefined}>
      <h2>{title}</h2>
      <ul className="rh-list">
        {items.map(item => (
          <li key={item}>{item}</li>
        ))}
      </ul>
    </section>
  )
}
