import { saysTheSame } from './equal.ts'

/** Where two descriptions of one thing differ, field by field. */

export interface Difference {
  /** Dotted, as in the forms: `supply.leastVolts`. Lists are one field each. */
  readonly path: string
  readonly mine: unknown
  readonly theirs: unknown
  /**
   * `conflict`: both know, and say different things. `gap`: mine does not know, theirs does. `theirs-unknown`: the other
   * way round, which is no reason to forget what is known. `remark`: a note, which claims nothing.
   */
  readonly how: 'conflict' | 'gap' | 'theirs-unknown' | 'remark'
}

type Group = Readonly<Record<string, unknown>>

const isGroup = (value: unknown): value is Group =>
  typeof value === 'object' && value !== null && !Array.isArray(value)

const isOpen = (value: unknown) => value === undefined || value === 'unknown' || value === ''

/** `id` names, `source` explains: neither is a claim about the thing. */
const NO_CLAIMS: readonly string[] = ['id', 'source']

/** @param mine and theirs as a schema gave them, so that defaults are filled in on both sides */
export function differences(mine: Group, theirs: Group, base = ''): Difference[] {
  const keys = [...new Set([...Object.keys(mine), ...Object.keys(theirs)])]
  return keys
    .filter(key => base !== '' || !NO_CLAIMS.includes(key))
    .flatMap(key => {
      const path = base === '' ? key : `${base}.${key}`
      const [a, b] = [mine[key], theirs[key]]
      if (isGroup(a) && isGroup(b)) return differences(a, b, path)
      if (saysTheSame(a, b) || (isOpen(a) && isOpen(b))) return []
      return [{ path, mine: a, theirs: b, how: howOf(path, a, b) }]
    })
}

function howOf(path: string, mine: unknown, theirs: unknown): Difference['how'] {
  if (isOpen(theirs)) return 'theirs-unknown'
  if (isOpen(mine)) return 'gap'
  return path === 'note' ? 'remark' : 'conflict'
}

/** `mine` with the values of `theirs` at these paths. */
export function taking<T extends Group>(mine: T, theirs: Group, paths: readonly string[]): T {
  let result: Group = mine
  for (const path of paths) result = withValue(result, path.split('.'), theirs)
  return result as T
}

function withValue(mine: Group, [key, ...rest]: readonly string[], theirs: Group): Group {
  const [a, b] = [mine[key], theirs[key]]
  if (rest.length > 0 && isGroup(a) && isGroup(b)) return { ...mine, [key]: withValue(a, rest, b) }
  return { ...mine, [key]: b }
}
