import type { CauseSetReport, Diagnosis } from '../../shared/diagnose/report.ts'
import { Button } from '../ui/Button.tsx'
import { StatusMark } from '../ui/StatusMark.tsx'
import { Caution } from './Caution.tsx'
import type { Pointed } from './Lines.tsx'
import { causeName, countedWords, minuteWords, percentWords } from './words.ts'

export const causeKey = ({ members }: Pick<CauseSetReport, 'members'>): string =>
  members
    .map(m => m.id)
    .sort()
    .join('+')

export interface CausesProps {
  readonly diagnosis: Diagnosis
  readonly lit: ReadonlySet<string>
  /** Whether a rehearsed update would show it. */
  readonly canTry: (cause: CauseSetReport) => boolean
  readonly onTry: (cause: CauseSetReport, what: 'cause' | 'repair') => void
  readonly onPoint: (pointed: Pointed | undefined) => void
  /** Ids of causes that cannot be put right now. */
  readonly putOff: readonly string[]
  /** It was put right, and it works. */
  readonly onHelped: (ids: readonly string[]) => void
  readonly onStillTheSame: (ids: readonly string[]) => void
  readonly onPutOff: (ids: readonly string[]) => void
}

/** What would explain it, the likeliest first. */
export function Causes(props: CausesProps) {
  const { causes } = props.diagnosis
  const counted = countedWords(props.diagnosis)
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a box that scrolls has to be reachable by keyboard
    <section className="dg-column" aria-labelledby="dg-causes-title" tabIndex={0}>
      <div className="dg-list">
        <h2 id="dg-causes-title">What would explain it</h2>
        {counted !== '' && causes.length > 0 && <p className="dg-soft dg-small">{counted}</p>}
        {causes.length === 0 && <p className="dg-soft">Nothing that is known here.</p>}
        <ol>
          {causes.map((cause, i) => (
            <Cause key={causeKey(cause)} {...props} cause={cause} isFirst={i === 0} />
          ))}
        </ol>
      </div>
    </section>
  )
}

function Cause(props: CausesProps & { readonly cause: CauseSetReport; readonly isFirst: boolean }) {
  const { cause, isFirst, lit, canTry, onTry, onPoint, putOff } = props
  const key = causeKey(cause)
  const name = causeName(cause)
  const point = () => onPoint({ kind: 'cause', id: key })
  return (
    <li
      className={`dg-cause${lit.has(key) ? ' dg-lit' : ''}`}
      data-cause={key}
      onMouseEnter={point}
      onMouseLeave={() => onPoint(undefined)}
      onFocus={point}
      onBlur={() => onPoint(undefined)}
    >
      <details open={isFirst}>
        <summary>
          <span className="dg-cause-name">{name}</span>
          <span className="dg-likelihood">
            <span className="visually-hidden">likelihood </span>
            {percentWords(cause.likelihood)}
          </span>
          <span className="dg-bar-track" aria-hidden="true">
            <span style={{ width: `${Math.max(1, cause.likelihood * 100)}%` }} />
          </span>
          {cause.members.some(m => putOff.includes(m.id)) && (
            <StatusMark status="unknown">cannot be put right now</StatusMark>
          )}
          {cause.doubts.length > 0 && <StatusMark status="caution">only if an answer is wrong</StatusMark>}
        </summary>
        <ul className="dg-why">
          {cause.explanation.map(sentence => (
            <li key={sentence}>{sentence}</li>
          ))}
          {cause.members.map(member => (
            <li key={member.id} className="dg-soft">
              {cause.members.length > 1 ? `${member.label}: ${member.rate}` : member.rate}
            </li>
          ))}
        </ul>
        <Remedies cause={cause} />
        <div className="dg-try">
          {canTry(cause) ? (
            <Button aria-label={`See what it would look like: ${name}`} onClick={() => onTry(cause, 'cause')}>
              See what it would look like
            </Button>
          ) : (
            <p className="dg-soft dg-small">No update shows this; it comes out in flight.</p>
          )}
          <Button kind="quiet" aria-label={`See the repair: ${name}`} onClick={() => onTry(cause, 'repair')}>
            See the repair
          </Button>
        </div>
        <PutRight {...props} name={name} />
      </details>
    </li>
  )
}

/** Somebody may put right what is not advised yet, or know that it cannot be. */
function PutRight(props: CausesProps & { readonly cause: CauseSetReport; readonly name: string }) {
  const { cause, name, putOff, onHelped, onStillTheSame, onPutOff } = props
  const ids = cause.members.map(m => m.id)
  const button = (label: string, act: (ids: readonly string[]) => void) => (
    <Button
      kind="quiet"
      className="dg-small-button"
      aria-label={`${label}: ${name}`}
      onClick={() => act(ids)}
    >
      {label}
    </Button>
  )
  return (
    <p className="dg-put-right">
      <span className="dg-soft">Put right already?</span>
      {button('It helped', onHelped)}
      {button('Still the same', onStillTheSame)}
      {!ids.some(id => putOff.includes(id)) && button('Can’t do it now', onPutOff)}
    </p>
  )
}

function Remedies({ cause }: { readonly cause: CauseSetReport }) {
  const cautions = [...new Set(cause.remedies.flatMap(r => r.caution ?? []))]
  return (
    <div className="dg-remedies">
      {cause.remedies.map(remedy => (
        <p key={remedy.cause}>
          <strong>Repair: </strong>
          {remedy.label} <span className="dg-soft">About {minuteWords(remedy.minutes)}</span>
          {!remedy.reversible && <span className="dg-soft">; it cannot be undone</span>}
          <span className="dg-soft">.</span>
        </p>
      ))}
      {cautions.map(caution => (
        <Caution key={caution}>{caution}</Caution>
      ))}
    </div>
  )
}
