import type { FactToLook } from '../../../shared/diagnose/exercise.ts'
import { Button } from '../../ui/Button.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'
import { Caution } from '../Caution.tsx'
import { answerWords, minuteWords } from '../words.ts'
import { PracticeTag } from './PracticeTag.tsx'

export interface LookListProps {
  readonly facts: readonly FactToLook[]
  readonly onLook: (fact: string) => void
}

/** All that can be looked at while this is seen; rows keep their places, so that the keyboard does too. */
export function LookList({ facts, onLook }: LookListProps) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a box that scrolls has to be reachable by keyboard
    <section className="dg-column" aria-labelledby="pr-looks-title" tabIndex={0}>
      <div className="dg-list">
        <h2 id="pr-looks-title">
          What you can look at <PracticeTag />
        </h2>
        {facts.length === 0 && (
          <p className="dg-soft">There is nothing to look at that would tell the causes apart.</p>
        )}
        <ul>
          {facts.map(fact => (
            <Row key={fact.id} fact={fact} onLook={() => onLook(fact.id)} />
          ))}
        </ul>
      </div>
    </section>
  )
}

function Row({ fact, onLook }: { readonly fact: FactToLook; readonly onLook: () => void }) {
  const { question, look, minutes, tools, risk, seen, sound } = fact
  const word = seen.length === 0 ? 'Look' : 'Look again'
  return (
    <li className="dg-fact pr-row">
      <div className="pr-row-words">
        <p>{question}</p>
        {seen.map(({ answer, isOld }, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: looks are only ever added at the end
          <p key={i} className="pr-seen">
            <strong>{answerWords[answer]}</strong>{' '}
            {answer === sound ? (
              <StatusMark status="good">in order</StatusMark>
            ) : (
              <StatusMark status="caution">not in order</StatusMark>
            )}
            {isOld && <span className="dg-soft dg-small">seen before the last repair</span>}
          </p>
        ))}
        <p className="dg-soft dg-small">
          {look} <span className="dg-cost">{[minuteWords(minutes), ...tools].join(', ')}.</span>
        </p>
        {risk !== null && <Caution>{risk}</Caution>}
      </div>
      <Button aria-label={`${word}: ${question}`} onClick={onLook}>
        {word}
      </Button>
    </li>
  )
}
