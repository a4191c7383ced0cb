/** What an update or a write counts at its end. */
export interface Effort {
  /** Attempts at the whole; 0 where it was broken off before the first. */
  readonly attempts: number
  /** All that had to be done again: single requests, and each attempt but the first. */
  readonly retries: number
}

/**
 * What a procedure that did not return has done, counted as one that returns counts it.
 * @param told all that it has said, in order
 */
export function effortIn(told: readonly { readonly kind: string; readonly attempt?: number }[]): Effort {
  const attempts = told.reduce(
    (most, { kind, attempt = 0 }) => (kind === 'phase' ? Math.max(most, attempt) : most),
    0,
  )
  const repeats = told.filter(({ kind }) => kind === 'retry').length
  return { attempts, retries: repeats + Math.max(0, attempts - 1) }
}

/** How often a single request had to be sent again, without the attempts at the whole: never below 0. */
export const repeatsOfRequests = ({ attempts, retries }: Effort): number =>
  Math.max(0, retries - Math.max(0, attempts - 1))

const counted = (count: number, one: string, many: string): string =>
  `${count === 0 ? 'no' : count} ${count === 1 ? one : many}`

export const repeatWords = (effort: Effort): string => counted(repeatsOfRequests(effort), 'repeat', 'repeats')

/** Attempts, and what was repeated within them, each counted once: "2 attempts, no repeats". */
export const effortWords = (effort: Effort): string =>
  `${counted(effort.attempts, 'attempt', 'attempts')}, ${repeatWords(effort)}`
