import { useEffect, useLayoutEffect, useRef } from 'react'
import type { Answer, Diagnosis, NextStep } from '../../shared/diagnose/report.ts'
import { Button } from '../ui/Button.tsx'
import { Caution } from './Caution.tsx'
import { ANSWERS, answerWords, causeName, minuteWords, percentWords } from './words.ts'

export interface NextCardProps {
  readonly diagnosis: Diagnosis | undefined
  readonly isBehind: boolean
  /** A fact that was answered once yes and once no. */
  readonly differing: string | undefined
  readonly onAnswer: (fact: string, answer: Answer) => void
  readonly onHelped: (ids: readonly string[]) => void
  readonly onStillTheSame: (ids: readonly string[]) => void
  readonly onPutOff: (ids: readonly string[]) => void
  /** Some repair was put off, so what is left need not be all that there is. */
  readonly hasPutOff: boolean
  readonly onStartAnew: () => void
}

const keys: Readonly<Record<string, Answer>> = { y: 'yes', n: 'no', c: 'cannot-check' }
const keyOf: Readonly<Record<Answer, string>> = { yes: 'y', no: 'n', 'cannot-check': 'c' }

/** The one thing to do now: answer a question, repair something, or look at the answers again. */
export function NextCard(props: NextCardProps) {
  const { diagnosis } = props
  const card = useRef<HTMLElement>(null)
  const next = diagnosis?.next
  // biome-ignore lint/correctness/useExhaustiveDependencies: the button that had the focus may be gone with the step
  useEffect(() => {
    if (document.activeElement === null || document.activeElement === document.body)
      card.current?.focus({ preventScroll: true })
  }, [next])
  return (
    <section className="dg-next" ref={card} tabIndex={-1} aria-label="What to do next">
      <p className="visually-hidden" role="status">
        {diagnosis === undefined ? '' : sayNext(diagnosis)}
      </p>
      {diagnosis === undefined || next === undefined ? (
        <p className="dg-soft">Trying every cause that there is on a small copy of this table…</p>
      ) : next.do === 'look' ? (
        <Look {...props} diagnosis={diagnosis} next={next} />
      ) : next.do === 'repair' ? (
        <Repair {...props} diagnosis={diagnosis} next={next} />
      ) : (
        <Ask {...props} diagnosis={diagnosis} next={next} />
      )}
    </section>
  )
}

function sayNext({ next, facts }: Diagnosis): string {
  if (next.do === 'look')
    return `${next.again ? 'Look again' : 'Next question'}: ${facts.find(f => f.id === next.fact)?.question ?? ''}`
  return next.do === 'repair' ? `Repair this: ${next.label}` : next.why
}

interface StepProps<K extends NextStep['do']> extends NextCardProps {
  readonly diagnosis: Diagnosis
  readonly next: Extract<NextStep, { do: K }>
}

function Look({ diagnosis, next, isBehind, differing, onAnswer }: StepProps<'look'>) {
  const fact = diagnosis.facts.find(f => f.id === next.fact)
  const answer = (given: Answer) => {
    // The question on the screen may be answered already, and the next one not be here yet.
    if (!isBehind) onAnswer(next.fact, given)
  }
  useAnswerKeys(answer)
  if (fact === undefined) return null
  return (
    <>
      <div className="dg-next-words">
        <p className="dg-kind">
          {next.again ? 'Look again' : 'Next question'}{' '}
          <span>{[minuteWords(fact.minutes), ...fact.tools].join(', ')}</span>
        </p>
        <h2>{fact.question}</h2>
        <p>{fact.look}</p>
        {fact.risk !== null && <Caution>{fact.risk}</Caution>}
        {differing === next.fact && !next.again && (
          <p>The two answers differ, so neither counts: look a third time.</p>
        )}
        <p className="dg-soft dg-small">{next.why}</p>
      </div>
      <div className="dg-next-act">
        {ANSWERS.map(each => (
          <Button
            key={each}
            className={each === 'cannot-check' ? '' : 'dg-answer'}
            aria-keyshortcuts={keyOf[each]}
            onClick={() => answer(each)}
          >
            {answerWords[each]}{' '}
            <span className="dg-key" aria-hidden="true">
              {keyOf[each]}
            </span>
          </Button>
        ))}
      </div>
    </>
  )
}

function Repair({ diagnosis, next, isBehind, onHelped, onStillTheSame, onPutOff }: StepProps<'repair'>) {
  const { members } = next
  const set = diagnosis.causes.find(
    c => c.members.length === members.length && c.members.every(m => members.includes(m.id)),
  )
  const labels = members.flatMap(id => {
    const found = diagnosis.causes.flatMap(c => c.members).find(m => m.id === id)
    return found === undefined ? [] : [found.label]
  })
  const cautions = new Set(
    diagnosis.causes
      .flatMap(c => c.remedies)
      .flatMap(r => (members.includes(r.cause) ? (r.caution ?? []) : [])),
  )
  return (
    <>
      <div className="dg-next-words">
        <p className="dg-kind">
          Repair this <span>{minuteWords(next.minutes)}</span>
        </p>
        <h2>{next.label}</h2>
        <p>
          {set === undefined
            ? `Against whichever it is of these: ${labels.join('; ')}.`
            : `Against: ${causeName(set)} (likelihood ${percentWords(set.likelihood)}).`}
        </p>
        {[...cautions].map(caution => (
          <Caution key={caution}>{caution}</Caution>
        ))}
        <p className="dg-soft dg-small">{next.why}</p>
      </div>
      <div className="dg-next-act">
        <Button kind="primary" onClick={() => !isBehind && onHelped(members)}>
          It helped
        </Button>
        <Button onClick={() => !isBehind && onStillTheSame(members)}>It is still the same</Button>
        <Button onClick={() => !isBehind && onPutOff(members)}>Can’t do this now</Button>
      </div>
    </>
  )
}

function Ask({ next, hasPutOff, onStartAnew }: StepProps<'ask'>) {
  return (
    <>
      <div className="dg-next-words">
        <p className="dg-kind">{hasPutOff ? 'Waiting' : 'Nothing fits'}</p>
        <h2>
          {hasPutOff
            ? 'What is worth doing cannot be done now.'
            : 'What was seen is not explained by anything known here.'}
        </h2>
        <p>{next.why}</p>
      </div>
      <div className="dg-next-act">
        <Button kind={hasPutOff ? 'plain' : 'primary'} onClick={onStartAnew}>
          Start anew
        </Button>
      </div>
    </>
  )
}

/** The first letters answer, wherever the focus is, unless something is being typed or chosen. */
function useAnswerKeys(answer: (given: Answer) => void): void {
  const latest = useRef(answer)
  // Before anybody sees the question: a quick key would find nobody listening.
  useLayoutEffect(() => {
    latest.current = answer
  })
  useLayoutEffect(() => {
    const listen = (event: KeyboardEvent) => {
      const given = keys[event.key.toLowerCase()]
      if (given === undefined || event.ctrlKey || event.metaKey || event.altKey || event.repeat) return
      if (event.target instanceof Element && event.target.closest(TAKES_KEYS) !== null) return
      event.preventDefault()
      latest.current(given)
    }
    document.addEventListener('keydown', listen)
    return () => document.removeEventListener('keydown', listen)
  }, [])
}
const TAKES_KEYS = 'input, select, textarea, dialog, [role=dialog], [contenteditable=true]'
