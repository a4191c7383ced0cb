import { useMemo } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import { StatusMark } from '../../ui/StatusMark.tsx'
import { stepChanges } from './effects.ts'

export interface ConsequencesProps {
  readonly before: Bench
  readonly after: Bench
}

/** So many receivers are named; of a large fleet the rest is counted. */
const MOST_NAMED = 12

/** What a change of types means for the receivers that are of them. */
export function Consequences({ before, after }: ConsequencesProps) {
  const changes = useMemo(() => stepChanges(before, after), [before, after])
  const fell = changes.filter(change => change.fellOut)
  const rose = changes.filter(change => !change.fellOut)
  return (
    <section className="sheet-group" aria-label="What it changes for your receivers">
      <h3>What it changes for your receivers</h3>
      {changes.length === 0 && <p>Every receiver stands as it stood before, by the rules of fit.</p>}
      {fell.length > 0 && (
        <ul className="sheet-changes">
          {fell.slice(0, MOST_NAMED).map(change => (
            <li key={change.receiverId}>
              <StatusMark status={change.after === 'not known' ? 'unknown' : 'danger'}>
                {change.after}
              </StatusMark>
              <span>
                <strong>{change.nickname}</strong>, until now {change.before}. {change.because}
              </span>
            </li>
          ))}
        </ul>
      )}
      {fell.length > MOST_NAMED && <p>And {fell.length - MOST_NAMED} more.</p>}
      {rose.length > 0 && (
        <p>
          Comes into step:{' '}
          {rose
            .slice(0, MOST_NAMED)
            .map(change => change.nickname)
            .join(', ')}
          {rose.length > MOST_NAMED && ` and ${rose.length - MOST_NAMED} more`}.
        </p>
      )}
    </section>
  )
}
