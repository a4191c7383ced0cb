/**
 * How anything that can go wrong with outside input is reported: a value, never a bare string.
 * `code` is for programs and tests, `message` is one plain sentence for a person, `remedy` says what to do.
 */
export interface Problem {
  /** Stable, dotted, lower case: `hex.checksum`, `bench.field`. */
  readonly code: string
  /** One sentence, in words a hobbyist understands. */
  readonly message: string
  readonly file?: string
  /** 1-based line of the file. */
  readonly line?: number
  /** Path of the field, `units.receivers[2].firmware`. */
  readonly field?: string
  /** What would have been right. */
  readonly expected?: string
  /** What the person can do about it. */
  readonly remedy?: string
}

export type Result<T> =
  | { readonly ok: true; readonly value: T; readonly warnings: readonly Problem[] }
  | { readonly ok: false; readonly problems: readonly Problem[] }

export const succeeded = <T>(value: T, warnings: readonly Problem[] = []): Result<T> => ({
  ok: true,
  value,
  warnings,
})
export const failed = (...problems: readonly Problem[]): Result<never> => ({ ok: false, problems })

const MOST_NAMED = 20

/** What could have been chosen, for `expected`: the first twenty by name, the others counted. */
export function oneOf(names: readonly string[], whenNone: string): string {
  if (names.length === 0) return whenNone
  const named = names.slice(0, MOST_NAMED).join(', ')
  const others = names.length - MOST_NAMED
  return others > 0 ? `one of ${named} and ${others} more` : `one of ${named}`
}

/** A problem that has to cross a call stack. Only boundaries catch it, and turn it back into the value. */
export class ProblemError extends Error {
  readonly problem: Problem
  constructor(problem: Problem) {
    super(sayProblem(problem))
    this.name = 'ProblemError'
    this.problem = problem
  }
}

/** The problem in one line: where, what, what was expected, what to do. */
export function sayProblem(p: Problem): string {
  const where = [p.file, p.line === undefined ? undefined : `line ${p.line}`, p.field].filter(
    part => part !== undefined,
  )
  const parts = [where.length > 0 ? `${where.join(', ')}: ${p.message}` : p.message]
  if (p.expected !== undefined) parts.push(`Expected: ${p.expected}.`)
  if (p.remedy !== undefined) parts.push(p.remedy)
  return parts.join(' ')
}
