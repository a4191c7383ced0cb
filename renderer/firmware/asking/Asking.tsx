import { useDeferredValue, useEffect, useMemo, useRef, useState } from 'react'
import { answeredOf } from '../../../shared/fit/answered.ts'
import { type Answer, type Question, questionsFor } from '../../../shared/fit/ask.ts'
import { type Identification, observations, possibleTypes, typeLabel } from '../../../shared/fit/identify.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../../shared/model/gear.ts'
import { isKnown, type Route } from '../../../shared/model/units.ts'
import { candidateOf, type Listed } from '../listed.ts'
import { AnsweredRow } from './AnsweredRow.tsx'
import { Contradiction } from './Contradiction.tsx'
import { QuestionBand } from './Question.tsx'
import './asking.css'

/** Trying every answer on thousands of images would make the window wait; the best of the open ones decide. */
const MOST_ASKED_ABOUT = 32

interface AskingProps {
  readonly bench: Bench
  readonly receiver: ReceiverUnit
  readonly route: Route
  readonly listed: readonly Listed[]
  /** @param of the bench that the question was asked of */
  readonly onAnswer: (label: string, next: Bench, of: Bench) => void
  readonly onFleet: () => void
}

/** Finds what to ask for, remembers what nobody knows, and keeps a way back from every answer. */
export function Asking({ bench, receiver, route, listed, onAnswer, onFleet }: AskingProps) {
  const [skipped, setSkipped] = useState<ReadonlySet<string>>(new Set())
  const [given, setGiven] = useState<readonly string[]>([])
  const asked = useDeferredValue(useMemo(() => ({ bench, route, listed }), [bench, route, listed]))
  const questions = useMemo(() => {
    const open = asked.listed.filter(one => one.ranked.verdict === 'not-known').slice(0, MOST_ASKED_ABOUT)
    return questionsFor(asked.bench, receiver.id, asked.route, open.map(candidateOf))
  }, [asked, receiver.id])
  const { frame, followFocus } = useFocusOnNext(questions, skipped)
  const unit = asked.bench.receivers.find(r => r.id === receiver.id) ?? receiver
  const type = isKnown(unit.typeId) ? undefined : possibleTypes(asked.bench, unit)
  const takeBack = ({ fact, label, takenBack }: { fact: string; label: string; takenBack: Bench }) => {
    followFocus()
    setSkipped(before => new Set([...before].filter(other => other !== fact)))
    onAnswer(`Take back “${label}”`, takenBack, asked.bench)
  }
  return (
    <div ref={frame} className="fw-asking">
      <AnsweredRow
        answered={answeredOf(asked.bench, receiver.id, given)}
        mayBe={type && sayPossible(type)}
        onTakeBack={takeBack}
      />
      {type?.possible.length === 0 ? (
        <Contradiction
          identification={type}
          seen={observations(asked.bench, unit)}
          onTakeBack={takeBack}
          onFleet={onFleet}
        />
      ) : (
        <QuestionBand
          bench={asked.bench}
          questions={questions}
          skipped={skipped}
          onAnswer={(question: Question, answer: Answer) => {
            followFocus()
            setGiven(before => [...before.filter(other => other !== question.fact), question.fact])
            onAnswer(`Answer “${answer.label}” to “${question.text}”`, answer.bench, asked.bench)
          }}
          onSkip={fact => {
            followFocus()
            setSkipped(before => new Set([...before, fact]))
          }}
          onAskAgain={() => {
            followFocus()
            setSkipped(new Set())
          }}
        />
      )}
    </div>
  )
}

const MOST_NAMED = 3

function sayPossible({ possible }: Identification): string | undefined {
  if (possible.length === 0) return undefined
  const names = possible.slice(0, MOST_NAMED).map(typeLabel).join(', ')
  const more = possible.length - MOST_NAMED
  return `It may be: ${names}${more > 0 ? ` and ${more} more` : ''}.`
}

/** The button that was pressed goes away with its question; whoever works by keyboard goes on at the next one. */
function useFocusOnNext(questions: readonly Question[], skipped: ReadonlySet<string>) {
  const frame = useRef<HTMLDivElement>(null)
  const isWanted = useRef(false)
  // biome-ignore lint/correctness/useExhaustiveDependencies: what is asked next is drawn anew when these change
  useEffect(() => {
    if (!isWanted.current) return
    isWanted.current = false
    const next = frame.current?.querySelector<HTMLElement>('[data-first-answer]')
    const other = frame.current?.querySelector<HTMLElement>('button')
    ;(next ?? other)?.focus()
  }, [questions, skipped])
  return {
    frame,
    followFocus: () => {
      isWanted.current = true
    },
  }
}
