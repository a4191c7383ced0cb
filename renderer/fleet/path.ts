/** Reading and changing a value inside a tree by a dotted path, `flash.eraseMs.least` or `wires.0.from`. */

type Tree = Readonly<Record<string, unknown>>

const isTree = (value: unknown): value is Tree => typeof value === 'object' && value !== null

export const joinPath = (...parts: readonly (string | number)[]): string =>
  parts.filter(part => part !== '').join('.')

export function getAt(value: unknown, path: string): unknown {
  if (path === '') return value
  return path.split('.').reduce<unknown>((at, part) => (isTree(at) ? at[part] : undefined), value)
}

/** A copy of `value` with another value at `path`; what lies beside the path is shared with the original. */
export function setAt<T>(value: T, path: string, next: unknown): T {
  if (path === '') return next as T
  const [part, ...rest] = path.split('.')
  const inner = setAt(isTree(value) ? value[part] : undefined, rest.join('.'), next)
  if (Array.isArray(value)) return value.map((item, i) => (i === Number(part) ? inner : item)) as T
  return { ...(isTree(value) ? value : {}), [part]: inner } as T
}
