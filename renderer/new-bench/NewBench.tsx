import { useEffect, useMemo, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import type { Route } from '../../shared/model/units.ts'
import { type Answers, isSettled } from './answers.ts'
import { newBench } from './new-bench.ts'
import { QuestionPage } from './QuestionPage.tsx'
import { QUESTIONS, sayAnswer } from './questions.ts'
import { Summary } from './Summary.tsx'
import './new-bench.css'

export interface NewBenchProgress {
  readonly answers: Answers
  /** Index of the question, or their number for the last page. */
  readonly at: number
}

export interface NewBenchProps {
  /** Where the answers are kept while another view is looked at. */
  readonly kept?: { current: NewBenchProgress | undefined }
  readonly onDone: (
    bench: Bench,
    receiverId: string,
    image: { fileName: string; octets: Uint8Array } | undefined,
    route: Route,
  ) => void
  readonly onCancel: () => void
}

/** From nothing to a first rehearsal: one question a page, and at the end what had to be assumed. */
export function NewBench({ kept, onDone, onCancel }: NewBenchProps) {
  const [answers, setAnswers] = useState<Answers>(kept?.current?.answers ?? {})
  const [at, setAt] = useState(kept?.current?.at ?? 0)
  useEffect(() => {
    if (kept && Object.keys(answers).length > 0) kept.current = { answers, at }
  }, [kept, answers, at])
  const question = QUESTIONS[at]
  const complete = QUESTIONS.every(q => isSettled(answers, q.id))
  const made = useMemo(() => (question === undefined ? newBench(answers) : undefined), [question, answers])
  const back = () => (at === 0 ? onCancel() : setAt(at - 1))
  return (
    <div className="new-bench">
      <nav className="new-bench-progress" aria-label="Questions">
        <ol>
          {QUESTIONS.map((q, i) => (
            <li key={q.id}>
              <button
                type="button"
                aria-current={i === at ? 'step' : undefined}
                // Forward only over questions that have been answered.
                disabled={i > at && !QUESTIONS.slice(0, i).every(before => isSettled(answers, before.id))}
                onClick={() => setAt(i)}
              >
                <span>{q.short}</span> <small>{sayAnswer(answers, q)}</small>
              </button>
            </li>
          ))}
          <li>
            <button
              type="button"
              aria-current={question === undefined ? 'step' : undefined}
              disabled={question !== undefined && !complete}
              onClick={() => setAt(QUESTIONS.length)}
            >
              <span>What was assumed</span>
            </button>
          </li>
        </ol>
      </nav>
      {question !== undefined && (
        <QuestionPage
          key={question.id}
          question={question}
          number={at + 1}
          count={QUESTIONS.length}
          answers={answers}
          onAnswer={change => setAnswers(before => ({ ...before, ...change }))}
          onNext={() => setAt(at + 1)}
          onBack={back}
        />
      )}
      {made !== undefined && (
        <Summary
          made={made}
          onBack={back}
          onDone={() => {
            const { image } = answers
            const file = image ? { fileName: image.fileName, octets: image.octets } : undefined
            onDone(made.bench, made.receiverId, file, made.route)
          }}
        />
      )}
    </div>
  )
}
