import { type KeyboardEvent, useId, useState } from 'react'
import type { Answer, Question } from '../../../shared/fit/ask.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import { pictureOf } from '../pictures/Picture.tsx'
import { cardAfter } from './card-keys.ts'

export interface CardsProps {
  readonly bench: Bench
  readonly question: Question
  readonly onAnswer: (answer: Answer) => void
}

/** Answers as pictures: one stop for the tab key, the arrows go from card to card, Enter or space answers. */
export function Cards({ bench, question, onAnswer }: CardsProps) {
  const id = useId()
  const [at, setAt] = useState(0)
  const { answers } = question
  const move = (event: KeyboardEvent<HTMLElement>) => {
    const next = cardAfter(event.key, at, answers.length)
    if (next === undefined) return
    event.preventDefault()
    setAt(next)
    event.currentTarget.querySelectorAll<HTMLElement>('.fw-ask-card')[next]?.focus()
  }
  return (
    // biome-ignore lint/a11y/useSemanticElements: a toolbar of answers; the heading above names it
    <div className="fw-ask-cards" role="group" aria-label={question.text} onKeyDown={move}>
      {answers.map((answer, i) => {
        const picture = pictureOf(question.fact, answer.value, bench)
        return (
          <button
            key={answer.value}
            type="button"
            className="fw-ask-card"
            tabIndex={i === at ? 0 : -1}
            data-first-answer={i === 0 ? '' : undefined}
            aria-describedby={picture && `${id}-${i}`}
            onFocus={() => setAt(i)}
            onClick={() => onAnswer(answer)}
          >
            {picture?.drawing}
            <span>{answer.label}</span>
            {picture && (
              <span hidden id={`${id}-${i}`}>
                {picture.words}
              </span>
            )}
          </button>
        )
      })}
    </div>
  )
}
