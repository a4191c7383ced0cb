/**
 * The middle of some values: half of them are at most this. One that is far off moves it by no more than its neighbour.
 * @returns undefined for none
 */
export function medianOf(values: readonly number[]): number | undefined {
  if (values.length === 0) return undefined
  const sorted = [...values].sort((a, b) => a - b)
  const half = sorted.length >> 1
  return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2
}

/** A tenth of what is expected, or ten times as much: beyond that, something else was done in the meantime. */
const FAR = 10
/** Where next to nothing is expected, a minute is not too long. */
const ALWAYS_FINE_MS = 60_000

/**
 * Can this be how long it took? A step that was pressed away unseen, one that was left for hours, and a clock that was
 * set are none of it. Ten times either way is a choice of ours, no source.
 */
export const isPlausible = (ms: number, expectedMs: number): boolean =>
  ms > 0 && ms >= expectedMs / FAR && ms <= Math.max(expectedMs * FAR, ALWAYS_FINE_MS)
