import { nearNames } from '../model/near.ts'
import { oneOf, type Problem } from '../model/problem.ts'
import { CAUSES } from './causes.ts'
import { FACTS } from './facts.ts'
import type { DiagnosisRequest } from './report.ts'

/** Longer names are cut where they are told. */
const MOST_LETTERS = 60

/**
 * Names in a request that belong to no fact and no cause: something was mistyped, or comes from another version.
 * Counts are left alone, since a logbook may remember causes that there are no more.
 * @returns problems `diagnose.fact` and `diagnose.cause`, one for each name, with what may have been meant
 */
export function strangersIn(
  request: Pick<DiagnosisRequest, 'answers' | 'confirmed' | 'tried' | 'putOff'>,
): Problem[] {
  const facts = FACTS.map(({ id }) => id)
  const causes = CAUSES.map(({ id }) => id)
  const factsIn = (field: string, given: readonly string[]) =>
    strangers(given, { code: 'diagnose.fact', field, what: 'a fact', names: facts })
  const causesIn = (field: string, given: readonly string[]) =>
    strangers(given, { code: 'diagnose.cause', field, what: 'a cause', names: causes })
  return [
    ...factsIn('answers', Object.keys(request.answers)),
    ...factsIn('confirmed', request.confirmed ?? []),
    ...causesIn('tried', request.tried),
    ...causesIn('putOff', request.putOff),
  ]
}

interface Names {
  readonly code: string
  readonly field: string
  readonly what: string
  readonly names: readonly string[]
}

function strangers(given: readonly string[], { code, field, what, names }: Names): Problem[] {
  return given
    .filter(name => !names.includes(name))
    .map(name => {
      const near = nearNames(name, names)
      return {
        code,
        field,
        message: `"${name.slice(0, MOST_LETTERS)}" is not the name of ${what}.`,
        expected: near.length > 0 ? oneOf(near, '') : oneOf(names, ''),
        ...(near.length > 0 ? { remedy: `Did you mean ${near.join(' or ')}?` } : {}),
      }
    })
}
