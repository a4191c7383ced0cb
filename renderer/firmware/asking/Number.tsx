import { useId, useState } from 'react'
import type { Answer, Question } from '../../../shared/fit/ask.ts'
import { Button } from '../../ui/Button.tsx'
import { readNumber } from '../../ui/Field.tsx'

interface OtherNumberProps {
  readonly other: NonNullable<Question['other']>
  readonly onAnswer: (answer: Answer) => void
}

/** For a number that is not on any card. */
export function OtherNumber({ other, onAnswer }: OtherNumberProps) {
  const id = useId()
  const [text, setText] = useState('')
  const [isWrong, setWrong] = useState(false)
  const submit = () => {
    const n = readNumber(text)
    if (typeof n !== 'number' || n < other.least || n > other.most || (other.unit !== 'mm' && n % 1 !== 0))
      return setWrong(true)
    onAnswer(other.answer(n))
  }
  return (
    <form
      className="fw-ask-number"
      noValidate
      onSubmit={event => {
        event.preventDefault()
        submit()
      }}
    >
      <label>
        {other.label}
        <span>
          <input
            className="ui-input"
            inputMode="decimal"
            value={text}
            aria-invalid={isWrong || undefined}
            aria-describedby={isWrong ? id : undefined}
            onChange={event => {
              setText(event.target.value)
              setWrong(false)
            }}
          />{' '}
          {other.unit}
        </span>
      </label>
      <Button type="submit">Use this</Button>
      {isWrong && (
        <span id={id} role="alert" className="fw-ask-wrong">
          From {other.least} to {other.most}.
        </span>
      )}
    </form>
  )
}
