import type { Answers } from './answers.ts'
import type { Choice, ChoiceField } from './questions.ts'

interface ChoiceListProps {
  readonly field: ChoiceField
  readonly choices: readonly Choice[]
  readonly inRow?: boolean
  readonly answer: Answers[ChoiceField]
  /** Ids of the heading and of what explains or complains. */
  readonly labelledBy: string
  readonly describedBy: string
  readonly invalid: boolean
  readonly onChoose: (value: Choice['value']) => void
}

/** One of a few answers. */
export function ChoiceList(props: ChoiceListProps) {
  const { field, choices, inRow, answer, labelledBy, describedBy, invalid, onChoose } = props
  return (
    <div
      className={inRow ? 'new-bench-choices new-bench-choices-row' : 'new-bench-choices'}
      role="radiogroup"
      aria-labelledby={labelledBy}
      aria-describedby={describedBy}
      aria-invalid={invalid || undefined}
    >
      {choices.map(choice => (
        <label key={String(choice.value)} className="new-bench-choice">
          <input
            type="radio"
            name={field}
            value={String(choice.value)}
            checked={answer === choice.value}
            onChange={() => onChoose(choice.value)}
          />
          <span>
            {choice.label}
            {choice.more && <small>{choice.more}</small>}
          </span>
        </label>
      ))}
    </div>
  )
}
