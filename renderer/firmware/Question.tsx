import type { Answer, Question } from '../../shared/fit/ask.ts'
import { Button } from '../ui/Button.tsx'

/** With more answers than this a list to choose from is quicker than buttons. */
const MOST_BUTTONS = 8

export interface QuestionBandProps {
  readonly questions: readonly Question[]
  readonly skipped: ReadonlySet<string>
  readonly onAnswer: (question: Question, answer: Answer) => void
  readonly onSkip: (fact: string) => void
  readonly onAskAgain: () => void
}

/** Asks for what is not known, the most telling question first. What nobody knows stays unknown. */
export function QuestionBand(props: QuestionBandProps) {
  const { questions, skipped, onAnswer, onSkip, onAskAgain } = props
  const question = questions.find(q => !skipped.has(q.fact))
  if (questions.length === 0) return null
  if (question === undefined)
    return (
      <section className="fw-ask fw-ask-quiet" aria-label="What to look up next">
        <p>What you do not know stays not known, and nothing is taken for fine because of it.</p>
        <Button kind="quiet" onClick={onAskAgain}>
          Ask me again
        </Button>
      </section>
    )
  const open = questions.filter(q => !skipped.has(q.fact)).length
  return (
    <section className="fw-ask" aria-label="What to look up next">
      <div className="fw-ask-words">
        <h2>{question.text}</h2>
        <p>
          {question.look}
          {open > 1 && <span className="fw-ask-more"> This tells most; {open - 1} more after it.</span>}
        </p>
      </div>
      <div className="fw-ask-answers" key={question.fact}>
        {question.answers.length > MOST_BUTTONS ? (
          <select
            className="ui-input"
            aria-label={question.text}
            value=""
            onChange={e => {
              const answer = question.answers.find(a => a.value === e.target.value)
              if (answer) onAnswer(question, answer)
            }}
          >
            <option value="">choose one</option>
            {question.answers.map(answer => (
              <option key={answer.value} value={answer.value}>
                {answer.label}
              </option>
            ))}
          </select>
        ) : (
          question.answers.map(answer => (
            <Button key={answer.value} onClick={() => onAnswer(question, answer)}>
              {answer.label}
            </Button>
          ))
        )}
        <Button kind="quiet" onClick={() => onSkip(question.fact)}>
          I don’t know
        </Button>
      </div>
    </section>
  )
}
