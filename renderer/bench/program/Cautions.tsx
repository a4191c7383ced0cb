import type { CautionAnswers, CautionQuestion, Precondition } from '../../../shared/bench-run/check.ts'
import { Caution } from '../guide/Caution.tsx'

export interface CautionsProps {
  /** What is answered here holds for every receiver that is plugged in after this one. */
  readonly isBatch: boolean
  /** What the wiring leaves to hands and eyes: seen there first, and once more here. */
  readonly lookOut: readonly string[]
  readonly questions: readonly CautionQuestion[]
  readonly answers: CautionAnswers
  /** What stands in the way, once there is an answer to each. */
  readonly precondition: Precondition | undefined
  readonly onAnswer: (answers: CautionAnswers) => void
}

/** Questions about what one sees. Nothing is chosen beforehand, so that each has to be looked at. */
export function Cautions({ isBatch, lookOut, questions, answers, precondition, onAnswer }: CautionsProps) {
  const isAnswered = questions.every(({ id }) => answers[id] !== undefined)
  const stands = isAnswered && precondition?.holds === 'no'
  return (
    <div className="pg-cautions">
      <Caution>{isBatch ? `${LOOK} ${FOR_EACH}` : LOOK}</Caution>
      {lookOut.length > 0 && (
        <section aria-labelledby="pg-look-out">
          <h4 id="pg-look-out">Done before there is power, as the wiring asks</h4>
          <ul className="pg-look-out">
            {lookOut.map(text => (
              <li key={text}>{text}</li>
            ))}
          </ul>
        </section>
      )}
      {questions.map(question => (
        <fieldset key={question.id} className="pg-question">
          <legend>{question.question}</legend>
          <p className="pg-small pg-soft">{question.look}</p>
          <div className="pg-choices">
            {question.choices.map(({ id, label }) => (
              <label key={id} className="ui-check">
                <input
                  type="radio"
                  name={`pg-${question.id}`}
                  checked={answers[question.id] === id}
                  onChange={() => onAnswer({ ...answers, [question.id]: id })}
                />
                {label}
              </label>
            ))}
          </div>
        </fieldset>
      ))}
      <div role="status">
        {stands && (
          <div className="notice notice-danger">
            <div>
              <strong>Not like this.</strong> {precondition.why.join(' ')}{' '}
              {precondition.cure !== null && precondition.cure}
            </div>
          </div>
        )}
      </div>
    </div>
  )
}

const LOOK =
  'A receiver that is being written may move servos and start a motor. Look at the table and say what you see; one answer that does not fit, and nothing is written.'
const FOR_EACH = 'You answer for every receiver of the batch: each has to lie there as the first one does.'
