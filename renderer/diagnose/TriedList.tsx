import { Button } from '../ui/Button.tsx'
import type { Tried } from './use-diagnosis.ts'

export interface TriedListProps {
  readonly tried: readonly Tried[]
  readonly onTakeBack: (one: Tried) => void
}

/** What was put right and did not help. */
export function TriedList({ tried, onTakeBack }: TriedListProps) {
  if (tried.length === 0) return null
  return (
    <section className="dg-tried" aria-label="Put right, without effect">
      <p>Put right, and still the same:</p>
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
