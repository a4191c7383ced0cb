import { Fragment, useLayoutEffect, useRef } from 'react'
import type { Answer, Diagnosis, FactReport } from '../../shared/diagnose/report.ts'
import { Button } from '../ui/Button.tsx'
import { StatusMark } from '../ui/StatusMark.tsx'
import { Caution } from './Caution.tsx'
import type { Pointed } from './Lines.tsx'
import type { Looked } from './looks.ts'
import { ANSWERS, answerWords, disputeWords, minuteWords, sortFacts, sourceWords } from './words.ts'

export interface FactsProps {
  readonly diagnosis: Diagnosis
  /** What the person has answered and a write has seen, which the diagnosis may not know of yet. */
  readonly looked: Looked
  /** Facts that show what is pointed at. */
  readonly lit: ReadonlySet<string>
  readonly onAnswer: (fact: string, answer: Answer | undefined) => void
  readonly onPoint: (pointed: Pointed | undefined) => void
}

/** All that can be looked up, in any order: what is asked now, what is answered, the rest. */
export function Facts({ diagnosis, looked, lit, onAnswer, onPoint }: FactsProps) {
  const { next, facts } = diagnosis
  const { answers, seenByWrite, otherwise } = looked
  const sorted = sortFacts(facts, next.do === 'look' ? next.fact : undefined, seenByWrite)
  const keepFocus = useKeptFocus(diagnosis)
  const row = (fact: FactReport) => (
    <Fact
      key={fact.id}
      fact={fact}
      given={answers[fact.id] ?? fact.answer}
      isNext={fact === sorted.next}
      isSeenByWrite={seenByWrite.includes(fact.id)}
      isDisputed={otherwise[fact.id] !== undefined}
      isLit={lit.has(fact.id)}
      onAnswer={answer => onAnswer(fact.id, answer)}
      onPoint={onPoint}
    />
  )
  return (
    <section
      className="dg-column"
      aria-labelledby="dg-facts-title"
      // biome-ignore lint/a11y/noNoninteractiveTabindex: a box that scrolls has to be reachable by keyboard
      tabIndex={0}
      onFocus={keepFocus}
    >
      <div className="dg-list">
        <h2 id="dg-facts-title">What is known</h2>
        {facts.length === 0 && (
          <p className="dg-soft">There is nothing to look up that would tell the causes apart.</p>
        )}
        {sorted.next && <ul>{row(sorted.next)}</ul>}
        {groups(sorted).map(([title, some]) => (
          <Fragment key={title}>
            <h3>
              {title} ({some.length})
            </h3>
            <ul>{some.map(row)}</ul>
          </Fragment>
        ))}
      </div>
    </section>
  )
}

const groups = ({ byYou, byWrite, byBench, open }: ReturnType<typeof sortFacts>) =>
  (
    [
      ['Answered by you', byYou],
      ['Seen by the write', byWrite],
      ['Answered from the bench', byBench],
      ['Not asked yet', open],
    ] as const
  ).filter(([, some]) => some.length > 0)

/** A row that is answered moves to another list: the focus moves with it. */
function useKeptFocus(diagnosis: Diagnosis) {
  const last = useRef<string>(undefined)
  // biome-ignore lint/correctness/useExhaustiveDependencies: rows move with the diagnosis
  useLayoutEffect(() => {
    if (last.current === undefined || document.activeElement !== document.body) return
    document.getElementById(last.current)?.focus()
  }, [diagnosis])
  return (event: React.FocusEvent) => {
    last.current = event.target.id === '' ? undefined : event.target.id
  }
}

interface FactProps {
  readonly fact: FactReport
  readonly given: Answer | null
  readonly isNext: boolean
  readonly isSeenByWrite: boolean
  /** Write and person saw the opposite. */
  readonly isDisputed: boolean
  readonly isLit: boolean
  readonly onAnswer: (answer: Answer | undefined) => void
  readonly onPoint: (pointed: Pointed | undefined) => void
}

function Fact({ fact, given, isNext, isSeenByWrite, isDisputed, isLit, onAnswer, onPoint }: FactProps) {
  const { id, question, answer, from, sound } = fact
  const source = sourceWords(fact, isSeenByWrite)
  const point = () => onPoint({ kind: 'fact', id })
  return (
    <li
      className={`dg-fact${isNext ? ' dg-fact-next' : ''}${isLit ? ' dg-lit' : ''}`}
      data-fact={id}
      onMouseEnter={point}
      onMouseLeave={() => onPoint(undefined)}
      onFocus={point}
      onBlur={() => onPoint(undefined)}
    >
      {isNext && <p className="dg-kind">Asked now</p>}
      <div className="dg-fact-line">
        <p className="dg-question" id={`dg-q-${id}`}>
          {question}
        </p>
        <div className="dg-fact-answer">
          <fieldset className="dg-segments" aria-labelledby={`dg-q-${id}`}>
            {ANSWERS.map(each => (
              <label key={each}>
                <input
                  type="radio"
                  id={`dg-${id}-${each}`}
                  name={`dg-${id}`}
                  checked={given === each}
                  onChange={() => onAnswer(each)}
                />
                <span>{answerWords[each]}</span>
              </label>
            ))}
          </fieldset>
          {answer !== null && (
            <p className="dg-source">
              {answer === 'cannot-check' ? (
                <StatusMark status="unknown">not known</StatusMark>
              ) : answer === sound ? (
                <StatusMark status="good">in order</StatusMark>
              ) : (
                <StatusMark status="caution">not in order</StatusMark>
              )}
              {from === 'you' && (
                <Button
                  kind="quiet"
                  className="dg-small-button"
                  aria-label={`Take back: ${question}`}
                  onClick={() => onAnswer(undefined)}
                >
                  Take back
                </Button>
              )}
            </p>
          )}
        </div>
      </div>
      {answer !== null && isDisputed && (
        <p className="dg-small">
          <StatusMark status="caution">{disputeWords(isSeenByWrite)}</StatusMark>
        </p>
      )}
      {answer !== null && source !== '' && <p className="dg-soft dg-small">{source}</p>}
      {(answer === null || answer === 'cannot-check') && (
        <p className="dg-soft dg-small">
          {fact.look}{' '}
          <span className="dg-cost">{[minuteWords(fact.minutes), ...fact.tools].join(', ')}.</span>
          {answer === null && source !== '' && ` ${source}`}
        </p>
      )}
      {!isNext && answer === null && fact.risk !== null && <Caution>{fact.risk}</Caution>}
    </li>
  )
}
