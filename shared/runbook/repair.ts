import type { Answer, SymptomId } from '../diagnose/report.ts'
import type { Other, Runbook, Step } from './schema.ts'

/**
 * A repair that Diagnose had advised in a guided run. The run knows what was advised, and that it is as it should be
 * afterwards; what hands have done in between only the person knows. So it is asked, and counts as a find only by the
 * person's word. Without it nothing is counted: somebody may have done something else, or only tried again.
 */
export interface Repair {
  readonly symptom: SymptomId
  /** Ids of the causes that the repair was against. */
  readonly causes: readonly string[]
  /** Only one of them can have been the reason. */
  readonly isOneOf: boolean
  /** What was known of the bench in the trouble. */
  readonly facts: Readonly<Record<string, Answer>>
}

export interface DueRepair extends Repair {
  /** Id of the step where something else was seen. */
  readonly at: string
  /** That step has been seen as it should be since. */
  readonly isDue: boolean
}

/** Causes against which a repair can be at once. */
export const MOST_REPAIRED = 20

/** After a step was seen as it should be: the repair is due once that was the step of the trouble, or one after it. */
export function dueAfterSaw(
  { steps }: Pick<Runbook, 'steps'>,
  repair: DueRepair | undefined,
  step: Pick<Step, 'id'>,
): DueRepair | undefined {
  if (repair === undefined || repair.isDue) return repair
  const placeOf = (id: string) => steps.findIndex(one => one.id === id)
  return placeOf(step.id) >= placeOf(repair.at) ? { ...repair, isDue: true } : repair
}

/** After something else was seen: a repair that had not shown yet has not helped, nor has one of the same trouble. */
export const dueAfterOther = (
  repair: DueRepair | undefined,
  { symptom }: Pick<Other, 'symptom'>,
): DueRepair | undefined => (repair?.isDue && symptom !== repair.symptom ? repair : undefined)
