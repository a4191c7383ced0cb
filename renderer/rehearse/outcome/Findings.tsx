import type { FindingReport } from '../../../shared/rehearse/report.ts'
import { holdsWords, inOrderOfWeight } from './words.ts'

/** The fit rules that were looked at: those that do not hold first and open, the rest on request. */
export function Findings({ findings }: { findings: readonly FindingReport[] }) {
  const ordered = inOrderOfWeight(findings)
  const open = ordered.filter(finding => finding.holds !== 'yes')
  const held = ordered.filter(finding => finding.holds === 'yes')
  return (
    <section className="rh-findings" aria-label="Fit rules">
      <h2>Does it fit?</h2>
      {open.length === 0 ? <p>All {held.length} rules that apply hold.</p> : null}
      {open.map(finding => (
        <FindingCard key={finding.rule} finding={finding} open />
      ))}
      {held.length === 0 ? null : (
        <details>
          <summary>
            {held.length} {held.length === 1 ? 'rule holds' : 'rules hold'}
          </summary>
          {held.map(finding => (
            <FindingCard key={finding.rule} finding={finding} />
          ))}
        </details>
      )}
    </section>
  )
}

const enforcers: Readonly<Record<FindingReport['enforcedBy'], string>> = {
  computer: 'checked here',
  card: 'refused by the card',
  radio: 'refused by the radio',
  module: 'refused by the module',
  receiver: 'refused by the receiver',
  physics: 'physics',
}

function FindingCard({ finding, open }: { finding: FindingReport; open?: boolean }) {
  const { word, mark } = holdsWords[finding.holds]
  return (
    <details className={`rh-finding rh-finding-${finding.holds}`} open={open}>
      <summary>
        <span className="rh-finding-mark" aria-hidden="true">
          {mark}
        </span>
        <span>
          {finding.claim}{' '}
          <span className="rh-soft">
            {word},{' '}
            {finding.holds === 'no' && finding.severity === 'warn'
              ? 'a warning'
              : enforcers[finding.enforcedBy]}
          </span>
        </span>
      </summary>
      <p>{finding.sentence}</p>
      <dl className="rh-facts">
        {finding.evidence.map(({ label, value, known }) => (
          <div key={label} className="rh-fact">
            <dt>{label}</dt>
            <dd>{known ? value : `${value} (not known)`}</dd>
          </div>
        ))}
      </dl>
      {finding.remedies.length === 0 ? null : (
        <>
          <p className="rh-strong">What would help</p>
          <ul className="rh-list">
            {finding.remedies.map(remedy => (
              <li key={remedy.id}>
                {remedy.label}{' '}
                <span className="rh-soft">
                  about {remedy.minutes} min{remedy.reversible ? '' : ', no way back'}
                </span>
              </li>
            ))}
          </ul>
        </>
      )}
      <p className="rh-soft rh-small">Source: {finding.source}</p>
    </details>
  )
}
