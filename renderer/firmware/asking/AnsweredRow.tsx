import type { Answered } from '../../../shared/fit/answered.ts'
import { Button } from '../../ui/Button.tsx'

interface AnsweredRowProps {
  readonly answered: readonly Answered[]
  /** Of a receiver of unknown type: the types that it may be of. */
  readonly mayBe: string | undefined
  readonly onTakeBack: (answered: Answered) => void
}

/** What was seen and said so far, each with its way back. */
export function AnsweredRow({ answered, mayBe, onTakeBack }: AnsweredRowProps) {
  if (answered.length === 0) return null
  return (
    <section className="fw-answered" aria-label="What was answered">
      <h2>Seen and said:</h2>
      <ul>
        {answered.map(one => (
          <li key={one.fact}>
            {one.label}
            <Button kind="quiet" aria-label={`Take back: ${one.label}`} onClick={() => onTakeBack(one)}>
              Take back
            </Button>
          </li>
        ))}
      </ul>
      {mayBe !== undefined && <p role="status">{mayBe}</p>}
    </section>
  )
}
