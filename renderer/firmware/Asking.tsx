import { useDeferredValue, useMemo, useState } from 'react'
import { type Answer, type Question, questionsFor } from '../../shared/fit/ask.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'
import type { Route } from '../../shared/model/units.ts'
import { candidateOf, type Listed } from './listed.ts'
import { QuestionBand } from './Question.tsx'

/** Trying every answer on thousands of images would make the window wait; the best of the open ones decide. */
const MOST_ASKED_ABOUT = 32

interface AskingProps {
  readonly bench: Bench
  readonly receiver: ReceiverUnit
  readonly route: Route
  readonly listed: readonly Listed[]
  /** @param of the bench that the question was asked of */
  readonly onAnswer: (label: string, next: Bench, of: Bench) => void
}

/** Finds what to ask for, and remembers what nobody knows. */
export function Asking({ bench, receiver, route, listed, onAnswer }: AskingProps) {
  const [skipped, setSkipped] = useState<ReadonlySet<string>>(new Set())
  const asked = useDeferredValue(useMemo(() => ({ bench, route, listed }), [bench, route, listed]))
  const questions = useMemo(() => {
    const open = asked.listed.filter(one => one.ranked.verdict === 'not-known').slice(0, MOST_ASKED_ABOUT)
    return questionsFor(asked.bench, receiver.id, asked.route, open.map(candidateOf))
  }, [asked, receiver.id])
  return (
    <QuestionBand
      questions={questions}
      skipped={skipped}
      onAnswer={(question: Question, answer: Answer) =>
        onAnswer(`Answer “${answer.label}” to “${question.text}”`, answer.bench, asked.bench)
      }
      onSkip={fact => setSkipped(before => new Set([...before, fact]))}
      onAskAgain={() => setSkipped(new Set())}
    />
  )
}
