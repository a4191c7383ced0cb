/** Between 0 and 1. */
export interface Interval {
  readonly low: number
  readonly high: number
}

/** The normal distribution leaves one in twenty outside of this many standard deviations. */
const Z_95 = 1.959964

/**
 * What share may lie behind a count, with a confidence of 95 %: the score interval of E. B. Wilson, Probable inference,
 * the law of succession, and statistical inference, J. Am. Stat. Assoc. 22 (1927) 209–212. It is honest for few cases
 * and for none: it never leaves 0 to 1, and is never of no width.
 * @param count how often it was so, 0 up to `of`
 * @param of cases, at least 1
 * @throws RangeError for counts that are none
 */
export function wilsonInterval(count: number, of: number, z = Z_95): Interval {
  if (!Number.isInteger(count) || !Number.isInteger(of) || of < 1 || count < 0 || count > of)
    throw new RangeError(`not a share: ${count} of ${of}`)
  const share = count / of
  const middle = (share + z ** 2 / (2 * of)) / (1 + z ** 2 / of)
  const half = (z / (1 + z ** 2 / of)) * Math.sqrt((share * (1 - share)) / of + (z / (2 * of)) ** 2)
  return {
    low: count === 0 ? 0 : Math.max(0, middle - half),
    high: count === of ? 1 : Math.min(1, middle + half),
  }
}
