import type { Answer, Diagnosis } from '../diagnose/report.ts'
import type { NewFinding } from './session.ts'

/**
 * Several were put right at once, of which only one was the reason.
 * @param found ids of the causes whose repair helped
 */
export function isOneOf({ causes }: Pick<Diagnosis, 'causes'>, found: readonly string[]): boolean {
  const isTogether = causes.some(
    ({ members }) => members.length === found.length && members.every(m => found.includes(m.id)),
  )
  return found.length > 1 && !isTogether
}

/** What the person has said before. */
export interface Said {
  readonly answers: Readonly<Record<string, Answer>>
  readonly tried: readonly string[]
}

/**
 * What the logbook keeps of a diagnosis once a repair has helped.
 * @param id a new one, of the logbook's form
 * @param found ids of the causes whose repair helped
 */
export const findingOf = (
  id: string,
  diagnosis: Diagnosis,
  found: readonly string[],
  { answers, tried }: Said,
): NewFinding => ({
  id,
  symptom: diagnosis.symptom,
  route: diagnosis.route,
  causes: [...found],
  isOneOf: isOneOf(diagnosis, found),
  answers: { ...answers },
  tried: [...new Set(tried)],
})
