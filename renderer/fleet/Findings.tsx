import { useMemo } from 'react'
import type { Finding, Remedy } from '../../shared/fit/rule.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { isKnown } from '../../shared/model/units.ts'
import { Button } from '../ui/Button.tsx'
import { StatusMark, type StatusRole, StatusShape } from '../ui/StatusMark.tsx'
import { type Concern, concernOf, effectOf, isChange, type Standing, stepName } from './step.ts'

export interface FindingsProps {
  readonly bench: Bench
  readonly standing: Standing
  readonly onChangeBench: (label: string, next: Bench) => void
}

const concernWords: Readonly<Record<Concern, string>> = {
  link: 'Receiver and module',
  'by-air': 'An update by air',
  table: 'The table',
  image: 'The image',
}

/** What the rules found wanting, by what it is about, each with its evidence and remedies. */
export function OpenFindings(props: FindingsProps) {
  const { findings } = props.standing
  const open = findings.filter(finding => finding.holds !== 'yes')
  const concerns = (Object.keys(concernWords) as Concern[]).filter(concern =>
    open.some(finding => concernOf(finding) === concern),
  )
  if (findings.length === 0)
    return (
      <p className="fleet-fine">
        {isKnown(props.standing.receiver.typeId)
          ? 'The type of this receiver is not on the bench, so nothing can be checked.'
          : 'The type of this receiver is not known, so nothing can be checked yet.'}
      </p>
    )
  if (open.length === 0) return <p className="fleet-fine">Nothing stands against an update by air.</p>
  return concerns.map(concern => (
    <section key={concern} className="fleet-concern" aria-label={concernWords[concern]}>
      <h3>{concernWords[concern]}</h3>
      {open
        .filter(finding => concernOf(finding) === concern)
        .map(finding => (
          <FindingItem key={finding.rule.id} {...props} finding={finding} />
        ))}
    </section>
  ))
}

/** What holds, folded away. */
export function Settled(props: FindingsProps) {
  const settled = props.standing.findings.filter(finding => finding.holds === 'yes')
  if (settled.length === 0) return null
  return (
    <details className="fleet-settled">
      <summary>What holds ({settled.length})</summary>
      {settled.map(finding => (
        <FindingItem key={finding.rule.id} {...props} finding={finding} />
      ))}
    </details>
  )
}

function statusOf(finding: Finding): { status: StatusRole; word: string } {
  if (finding.holds === 'yes') return { status: 'good', word: 'holds' }
  if (finding.holds === 'unknown') return { status: 'unknown', word: 'not known' }
  return finding.rule.severity === 'block'
    ? { status: 'danger', word: 'does not hold' }
    : { status: 'caution', word: 'take care' }
}

function FindingItem(props: FindingsProps & { readonly finding: Finding }) {
  const { finding } = props
  const { status, word } = statusOf(finding)
  return (
    <article className="fleet-finding" aria-label={finding.rule.claim}>
      <StatusMark status={status}>{word}</StatusMark>
      <p>{finding.sentence}</p>
      {finding.evidence.length > 0 && (
        <dl className="fleet-evidence">
          {finding.evidence.map(item => (
            <div key={item.label}>
              <dt>{item.label}</dt>
              <dd className={item.known ? undefined : 'fleet-none'}>{item.value}</dd>
            </div>
          ))}
        </dl>
      )}
      {finding.remedies.map(remedy => (
        <RemedyItem key={remedy.id} {...props} remedy={remedy} />
      ))}
      <p className="fleet-source">{finding.rule.source}</p>
    </article>
  )
}

const names = (list: readonly string[]) =>
  list.length <= 3 ? list.join(', ') : `${list.slice(0, 2).join(', ')} and ${list.length - 2} more`

/** A change of the bench is a button, with what it does to others; another way to go is said in words. */
function RemedyItem({ bench, standing, onChangeBench, remedy }: FindingsProps & { readonly remedy: Remedy }) {
  const receiverId = standing.receiver.id
  const effect = useMemo(
    () => (isChange(remedy) ? effectOf(bench, remedy, receiverId) : undefined),
    [bench, remedy, receiverId],
  )
  if (effect === undefined) return <p className="fleet-advice">{remedy.label}</p>
  return (
    <div className="fleet-remedy">
      <Button onClick={() => onChangeBench(stepName(remedy.label), remedy.apply(bench))}>
        {stepName(remedy.label)}
      </Button>
      <p>
        About {remedy.minutes} min on the real thing{remedy.reversible ? '' : ', with no way back'}.
      </p>
      {effect.gains.length > 0 && (
        <p className="fleet-side-effect ui-status-good">
          <span className="ui-status">
            <StatusShape status="good" />
          </span>
          Brings into step as well: {names(effect.gains)}.
        </p>
      )}
      {effect.loses.length > 0 && (
        <p className="fleet-side-effect ui-status-caution">
          <span className="ui-status">
            <StatusShape status="caution" />
          </span>
          Puts out of step: {names(effect.loses)}.
        </p>
      )}
    </div>
  )
}
