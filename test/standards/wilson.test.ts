import { describe, expect, it } from 'vitest'
import { wilsonInterval } from '../../shared/experience/interval.ts'

/**
 * R. G. Newcombe, Two-sided confidence intervals for the single proportion: comparison of seven methods, Statistics in
 * Medicine 17 (1998) 857–872, table I, method 3 (score without continuity correction), 95 %: from memory. Below the
 * bounds are worked out again from what defines them.
 */
const NEWCOMBE = [
  [81, 263, 0.2553, 0.3662],
  [15, 148, 0.0624, 0.1605],
  [0, 20, 0, 0.1611],
  [1, 29, 0.0061, 0.1718],
] as const

describe('the score interval of Wilson (1927)', () => {
  it.each(NEWCOMBE)('of %d in %d is %d to %d', (count, of, low, high) => {
    const found = wilsonInterval(count, of)
    expect(found.low).toBeCloseTo(low, 4)
    expect(found.high).toBeCloseTo(high, 4)
  })

  it('has for its bounds the shares from which the count is 1.96 standard deviations away', () => {
    const z = 1.959964
    for (const of of [1, 2, 5, 9, 40, 1000])
      for (let count = 0; count <= of; count += Math.max(1, of >> 3)) {
        const { low, high } = wilsonInterval(count, of)
        const away = (share: number) =>
          Math.abs(count / of - share) / Math.sqrt((share * (1 - share)) / of || 1)
        if (count > 0) expect(away(low)).toBeCloseTo(z, 6)
        if (count < of) expect(away(high)).toBeCloseTo(z, 6)
        expect(low).toBeLessThanOrEqual(count / of)
        expect(high).toBeGreaterThanOrEqual(count / of)
        expect(high - low).toBeGreaterThan(0)
      }
  })

  it('covers the true share about as often as it says, on the average of all shares', () => {
    // Exact by the binomial distribution: the chance that the interval of n = 10 holds the share.
    const n = 10
    const choose = Array.from({ length: n + 1 }, (_, k) => {
      let ways = 1
      for (let i = 0; i < k; i++) ways = (ways * (n - i)) / (i + 1)
      return ways
    })
    const covers = (share: number) =>
      choose.reduce((sum, ways, k) => {
        const { low, high } = wilsonInterval(k, n)
        return share < low || share > high ? sum : sum + ways * share ** k * (1 - share) ** (n - k)
      }, 0)
    const shares = Array.from({ length: 999 }, (_, i) => (i + 1) / 1000)
    const mean = shares.reduce((sum, share) => sum + covers(share), 0) / shares.length
    // Close to what is claimed, and never far below (Brown, Cai and DasGupta, Interval estimation for a binomial
    // proportion, Statistical Science 16 (2001) 101–133, find so too; quoted from memory).
    expect(mean).toBeGreaterThan(0.94)
    expect(mean).toBeLessThan(0.97)
    expect(Math.min(...shares.map(covers))).toBeGreaterThan(0.83)
  })

  it('refuses what is no share', () => {
    for (const [count, of] of [
      [1, 0],
      [-1, 3],
      [4, 3],
      [0.5, 3],
      [Number.NaN, 3],
    ])
      expect(() => wilsonInterval(count, of)).toThrow(RangeError)
  })
})
