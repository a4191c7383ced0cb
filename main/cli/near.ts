import { nearNames } from '../../shared/model/near.ts'
import { oneOf } from '../../shared/model/problem.ts'
import { bad } from './input.ts'

const MOST_SAID = 60

export interface NameChoice {
  readonly code: string
  /** The option, as it is typed. */
  readonly field: string
  /** What is named, with its article: "a symptom". */
  readonly what: string
  readonly names: readonly string[]
  /** Said where nothing is near. */
  readonly remedy?: string
}

/** @throws BadInput for a name that is not there: what there is, and what may have been meant */
export function named(given: string, { code, field, what, names, remedy }: NameChoice): string {
  if (names.includes(given)) return given
  const near = nearNames(given, names)
  return bad({
    code,
    field,
    message: `"${given.slice(0, MOST_SAID)}" is not the name of ${what}.`,
    expected: oneOf(names, `${what}, of which there are none here`),
    remedy: near.length > 0 ? `Did you mean ${near.join(' or ')}?` : remedy,
  })
}
