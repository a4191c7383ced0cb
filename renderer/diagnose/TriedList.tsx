import { Button } from '../ui/Button.tsx'
import type { Tried } from './use-diagnosis.ts'

export interface TriedListProps {
  /** What these have in common, as a sentence before them. */
  readonly title: string
  readonly tried: readonly Tried[]
  readonly onTakeBack: (one: Tried) => void
}

/** What was put right and did not help, or what was put off. */
export function TriedList({ title, tried, onTakeBack }: TriedListProps) {
  if (tried.length === 0) return null
  return (
    <section className="dg-tried" aria-label={title}>
      <p>{title}:</p>
      <ul>
        {tried.map(one => (
          <li key={one.ids.join('+')}>
            {one.label}
            <Button
              kind="quiet"
              className="dg-small-button"
              aria-label={`Take back: ${one.label}`}
              onClick={() => onTakeBack(one)}
            >
              Take back
            </Button>
          </li>
        ))}
      </ul>
    </section>
  )
}
