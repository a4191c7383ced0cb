import type { Finding, Remedy } from '../../shared/fit/rule.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { Route } from '../../shared/model/units.ts'
import { isChange, stepName } from '../fleet/step.ts'
import { Button } from '../ui/Button.tsx'
import { StatusMark, type StatusRole } from '../ui/StatusMark.tsx'

export interface ChecklistProps {
  readonly bench: Bench
  readonly findings: readonly Finding[]
  readonly onChangeBench: (label: string, next: Bench) => void
  readonly onRoute: (route: Route) => void
}

function statusOf(finding: Finding): { status: StatusRole; word: string } {
  if (finding.holds === 'yes') return { status: 'good', word: 'holds' }
  if (finding.holds === 'unknown') return { status: 'unknown', word: 'not known' }
  return finding.rule.severity === 'block'
    ? { status: 'danger', word: 'does not hold' }
    : { status: 'caution', word: 'take care' }
}

const rank = ({ holds, rule }: Finding): number =>
  (holds === 'no' ? 0 : 2) + (rule.severity === 'block' ? 0 : 1)

/** The rules, one by one: what is broken, then what is not known, then (folded away) what holds. */
export function Checklist(props: ChecklistProps) {
  const open = props.findings.filter(f => f.holds !== 'yes').sort((a, b) => rank(a) - rank(b))
  const settled = props.findings.filter(f => f.holds === 'yes')
  return (
    <section className="fw-checks" aria-label="The rules">
      <h3>The rules</h3>
      {open.length === 0 && <p className="fw-soft">All {settled.length} rules hold.</p>}
      {open.map(finding => (
        <Item key={finding.rule.id} {...props} finding={finding} />
      ))}
      {settled.length > 0 && (
        <details className="fw-settled">
          <summary>What holds ({settled.length})</summary>
          {settled.map(finding => (
            <Item key={finding.rule.id} {...props} finding={finding} />
          ))}
        </details>
      )}
    </section>
  )
}

function Item(props: ChecklistProps & { readonly finding: Finding }) {
  const { finding } = props
  const { status, word } = statusOf(finding)
  return (
    <article className="fw-check" aria-label={finding.rule.claim}>
      <StatusMark status={status}>{word}</StatusMark>
      <div>
        <p>{finding.sentence}</p>
        {finding.evidence.length > 0 && (
          <dl className="fw-evidence">
            {finding.evidence.map(item => (
              <div key={item.label}>
                <dt>{item.label}</dt>
                <dd className={item.known ? undefined : 'fw-none'}>{item.value}</dd>
              </div>
            ))}
          </dl>
        )}
        {finding.remedies.map(remedy => (
          <RemedyItem key={remedy.id} {...props} remedy={remedy} />
        ))}
        <p className="fw-source">Source: {finding.rule.source}</p>
      </div>
    </article>
  )
}

/** A change of the bench, or of the route, is a button; another image is said in words. */
function RemedyItem({ bench, onChangeBench, onRoute, remedy }: ChecklistProps & { readonly remedy: Remedy }) {
  const { route } = remedy
  if (route !== undefined)
    return (
      <p className="fw-remedy">
        <Button onClick={() => onRoute(route)}>{stepName(remedy.label)}</Button>
      </p>
    )
  if (!isChange(remedy)) return <p className="fw-advice">{remedy.label}</p>
  return (
    <div className="fw-remedy">
      <Button onClick={() => onChangeBench(stepName(remedy.label), remedy.apply(bench))}>
        {stepName(remedy.label)}
      </Button>
      <span className="fw-small fw-soft">
        About {remedy.minutes} min on the real thing{remedy.reversible ? '' : ', with no way back'}.
      </span>
    </div>
  )
}
