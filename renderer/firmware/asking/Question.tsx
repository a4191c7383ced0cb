import type { Answer, Question } from '../../../shared/fit/ask.ts'
import { TYPE_FACT } from '../../../shared/fit/ask-type.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import { Button } from '../../ui/Button.tsx'
import { pictureOf } from '../pictures/Picture.tsx'
import { Cards } from './Cards.tsx'
import { OtherNumber } from './Number.tsx'

/** With more answers than this a list to choose from is quicker than buttons. */
const MOST_BUTTONS = 8

export interface QuestionBandProps {
  readonly bench: Bench
  readonly questions: readonly Question[]
  readonly skipped: ReadonlySet<string>
  readonly onAnswer: (question: Question, answer: Answer) => void
  readonly onSkip: (fact: string) => void
  readonly onAskAgain: () => void
}

/** Asks for what is not known, the most telling question first. What nobody knows stays unknown. */
export function QuestionBand(props: QuestionBandProps) {
  const { bench, questions, skipped, onAnswer, onSkip, onAskAgain } = props
  const question = questions.find(q => !skipped.has(q.fact))
  if (questions.length === 0) return null
  if (question === undefined)
    return (
      <section className="fw-ask fw-ask-quiet" aria-label="What to look up next">
        <p>What you do not know stays not known, and nothing is taken for fine because of it.</p>
        <Button kind="quiet" data-first-answer="" onClick={onAskAgain}>
          Ask me again
        </Button>
      </section>
    )
  const open = questions.filter(q => !skipped.has(q.fact)).length
  const answers = question.answers
  const isDrawn =
    answers.length <= MOST_BUTTONS &&
    answers.some(answer => pictureOf(question.fact, answer.value, bench) !== undefined)
  const answer = (given: Answer) => onAnswer(question, given)
  const doNotKnow = (
    <Button kind="quiet" onClick={() => onSkip(question.fact)}>
      I don’t know
    </Button>
  )
  return (
    <section className={isDrawn ? 'fw-ask fw-ask-tall' : 'fw-ask'} aria-label="What to look up next">
      <div className="fw-ask-words">
        <h2>{question.text}</h2>
        <p>
          {question.look}
          {open > 1 && <span className="fw-ask-more"> {sayMore(question, open - 1)}</span>}
        </p>
      </div>
      {isDrawn ? (
        <div className="fw-ask-row" key={question.fact}>
          <Cards bench={bench} question={question} onAnswer={answer} />
          <div className="fw-ask-end">
            {question.other && <OtherNumber other={question.other} onAnswer={answer} />}
            {doNotKnow}
          </div>
        </div>
      ) : (
        <div className="fw-ask-answers" key={question.fact}>
          {question.other && <OtherNumber other={question.other} onAnswer={answer} />}
          <Words question={question} onAnswer={answer} />
          {doNotKnow}
        </div>
      )}
    </section>
  )
}

const sayMore = (question: Question, more: number): string =>
  question.fact === TYPE_FACT
    ? 'If you are not sure, say that you don’t know: there is more to look at.'
    : `This tells most; ${more} more after it.`

interface WordsProps {
  readonly question: Question
  readonly onAnswer: (answer: Answer) => void
}

/** Answers that a picture would not make plainer. */
function Words({ question, onAnswer }: WordsProps) {
  const { answers } = question
  if (answers.length <= MOST_BUTTONS)
    return answers.map((answer, i) => (
      <Button
        key={answer.value}
        data-first-answer={i === 0 ? '' : undefined}
        onClick={() => onAnswer(answer)}
      >
        {answer.label}
      </Button>
    ))
  return (
    <select
      className="ui-input"
      aria-label={question.text}
      data-first-answer=""
      value=""
      onChange={e => {
        const answer = answers.find(a => a.value === e.target.value)
        if (answer) onAnswer(answer)
      }}
    >
      <option value="">choose one</option>
      {answers.map(answer => (
        <option key={answer.value} value={answer.value}>
          {answer.label}
        </option>
      ))}
    </select>
  )
}
