import { type Identification, type Observation, typeLabel } from '../../../shared/fit/identify.ts'
import { Button } from '../../ui/Button.tsx'

interface ContradictionProps {
  readonly identification: Identification
  readonly seen: readonly Observation[]
  readonly onTakeBack: (observation: Observation) => void
  readonly onFleet: () => void
}

/** Nothing on the bench has all that was seen: what could be mistaken, and what to do if nothing is. */
export function Contradiction({ identification, seen, onTakeBack, onFleet }: ContradictionProps) {
  const { excluded } = identification
  if (excluded.length === 0)
    return (
      <section className="fw-odd" aria-label="What to look up next">
        <h2>There is no type of receiver on this bench yet.</h2>
        <p className="fw-odd-way">
          <Button onClick={onFleet}>Add a type in the Fleet view</Button>
        </p>
      </section>
    )
  const ways = seen.filter(one => one.wouldAllow.length > 0)
  return (
    <section className="fw-odd" aria-label="What to look up next">
      <h2>No type on this bench has all that was seen.</h2>
      {ways.length === 0 ? (
        <p>No single one of them explains it. Take back what you are least sure of.</p>
      ) : (
        ways.map(one => (
          <p key={one.fact} className="fw-odd-way">
            <Button data-first-answer="" onClick={() => onTakeBack(one)}>
              Take back “{one.label}”
            </Button>
            <span>Then it could be {one.wouldAllow.map(typeLabel).join(' or ')}.</span>
          </p>
        ))
      )}
      <p className="fw-odd-way">
        <Button onClick={onFleet}>Add its type in the Fleet view</Button>
        <span>if all of it is right: then it is a type that this bench does not know.</span>
      </p>
      <details>
        <summary>Why not ({excluded.length})</summary>
        <ul>
          {excluded.map(({ type, because }) => (
            <li key={type.id}>{because}</li>
          ))}
        </ul>
      </details>
    </section>
  )
}
