import { describe, expect, it } from 'vitest'
import { dice } from '../../shared/sim/dice.ts'

const N = 20_000
const draw = (seed: number, purpose: string, count = N) => {
  const d = dice(seed, purpose)
  return Array.from({ length: count }, () => d.next())
}
/** Five standard deviations: by Chebyshev alone under 4 %, for sums of this many draws about one in two million. */
const SIGMAS = 5

describe('one stream', () => {
  it('gives the same numbers for the same seed and purpose, and others for others', () => {
    expect(draw(7, 'noise', 50)).toEqual(draw(7, 'noise', 50))
    expect(draw(7, 'noise', 50)).not.toEqual(draw(8, 'noise', 50))
    expect(draw(7, 'noise', 50)).not.toEqual(draw(7, 'flash', 50))
  })

  it('lies in [0, 1) with the mean and variance of the uniform distribution', () => {
    for (const seed of [0, 1, 0xffff_ffff]) {
      const values = draw(seed, 'x')
      expect(Math.min(...values)).toBeGreaterThanOrEqual(0)
      expect(Math.max(...values)).toBeLessThan(1)
      const mean = values.reduce((a, b) => a + b, 0) / N
      expect(Math.abs(mean - 0.5)).toBeLessThan(SIGMAS * Math.sqrt(1 / 12 / N))
      const variance = values.reduce((a, b) => a + (b - 0.5) ** 2, 0) / N
      // The variance of (u - 1/2)^2 is 1/180.
      expect(Math.abs(variance - 1 / 12)).toBeLessThan(SIGMAS * Math.sqrt(1 / 180 / N))
    }
  })

  it('between stays between', () => {
    const d = dice(3, 'between')
    for (let i = 0; i < 1000; i++) {
      const value = d.between(20, 40)
      expect(value).toBeGreaterThanOrEqual(20)
      expect(value).toBeLessThan(40)
    }
  })
})

describe('two streams', () => {
  it.each([
    ['purposes', [5, 'noise'], [5, 'flash']],
    ['seeds', [5, 'noise'], [6, 'noise']],
    ['seeds far apart', [0, 'tearing'], [0x8000_0000, 'tearing']],
  ] as const)('of different %s are uncorrelated', (_, a, b) => {
    const left = draw(a[0], a[1])
    const right = draw(b[0], b[1])
    const covariance = left.reduce((sum, x, i) => sum + (x - 0.5) * (right[i] - 0.5), 0) / N
    expect(Math.abs(covariance)).toBeLessThan((SIGMAS / 12) * Math.sqrt(1 / N))
  })

  it('do not disturb each other', () => {
    const alone = draw(9, 'a', 10)
    const a = dice(9, 'a')
    const b = dice(9, 'b')
    const mixed = alone.map(() => {
      b.next()
      return a.next()
    })
    expect(mixed).toEqual(alone)
  })
})
