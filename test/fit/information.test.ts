import { describe, expect, it } from 'vitest'
import { entropyBits, informationBits } from '../../shared/fit/information.ts'

const cases = (...sizes: readonly number[]) => {
  let next = 0
  return sizes.map(size => Array.from({ length: size }, () => next++))
}

describe('how much an answer tells', () => {
  it('is what Shannon’s example says', () => {
    // Shannon, A Mathematical Theory of Communication (1948), section 6: probabilities 1/2, 1/3, 1/6; its figure 6
    // decomposes H(1/2, 1/3, 1/6) = H(1/2, 1/2) + 1/2 H(2/3, 1/3).
    expect(entropyBits([3, 2, 1])).toBeCloseTo(entropyBits([1, 1]) + 0.5 * entropyBits([2, 1]), 12)
    // By hand: 1/2 · 1 + 1/3 · 1.58496 + 1/6 · 2.58496 = 1.45915.
    expect(entropyBits([3, 2, 1])).toBeCloseTo(1.45915, 5)
    expect(informationBits(cases(3, 2, 1), 6)).toBeCloseTo(1.45915, 5)
  })

  it('is greatest where all answers are equally likely, and none where there is one', () => {
    // Shannon (1948), section 6, properties 1 and 2 of H.
    expect(entropyBits([5])).toBe(0)
    expect(entropyBits([2, 2, 2, 2])).toBe(2)
    expect(entropyBits([2, 2, 2, 2])).toBeGreaterThan(entropyBits([3, 2, 2, 1]))
    expect(entropyBits([4, 0, 4])).toBe(1)
  })

  it('tells which weighing of twelve balls is best', () => {
    // MacKay, Information Theory, Inference, and Learning Algorithms (2003), section 4.1, the weighing problem: 24 ways
    // for one of twelve balls to be heavy or light. Six against six tells 1 bit, four against four log2 3, five against
    // five with two left 10/24, 10/24, 4/24.
    expect(informationBits(cases(12, 12), 24)).toBeCloseTo(1, 12)
    expect(informationBits(cases(8, 8, 8), 24)).toBeCloseTo(Math.log2(3), 12)
    const fives = informationBits(cases(10, 10, 4), 24)
    expect(fives).toBeCloseTo(2 * (10 / 24) * Math.log2(2.4) + (4 / 24) * Math.log2(6), 12)
    expect(fives).toBeLessThan(Math.log2(3))
  })

  it('counts an answer that is true of every case for nothing', () => {
    expect(informationBits([[0, 1, 2]], 3)).toBeCloseTo(0, 12)
    // Both answers true of both: nothing. One true of both, one of the second only: 1 - 3/4 H(2/3, 1/3), by hand.
    expect(
      informationBits(
        [
          [0, 1],
          [0, 1],
        ],
        2,
      ),
    ).toBeCloseTo(0, 12)
    expect(informationBits([[0, 1], [1]], 2)).toBeCloseTo(1 - 0.75 * entropyBits([2, 1]), 12)
  })

  it('is nothing where nothing can be answered', () => expect(informationBits([], 4)).toBe(0))

  it('asks for the group only where only the group matters', () => {
    expect(informationBits(cases(1, 1, 1, 1), 4, i => (i < 2 ? 'a' : 'b'))).toBeCloseTo(1, 12)
    expect(informationBits(cases(2, 2), 4, i => (i % 2 === 0 ? 'a' : 'b'))).toBeCloseTo(0, 12)
  })
})
