/** Whether two JSON values say the same. A field that is undefined says as much as one that is not there. */
export function saysTheSame(a: unknown, b: unknown): boolean {
  if (Object.is(a, b)) return true
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false
  if (Array.isArray(a) || Array.isArray(b))
    return (
      Array.isArray(a) &&
      Array.isArray(b) &&
      a.length === b.length &&
      a.every((item, i) => saysTheSame(item, b[i]))
    )
  const keys = new Set([...Object.keys(a), ...Object.keys(b)])
  return [...keys].every(key =>
    saysTheSame((a as Record<string, unknown>)[key], (b as Record<string, unknown>)[key]),
  )
}
