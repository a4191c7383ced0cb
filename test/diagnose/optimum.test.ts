import { describe, expect, it } from 'vitest'
import { minimalCauses } from '../../shared/diagnose/consistent.ts'
import type { System } from '../../shared/diagnose/system.ts'
import { minimalByBruteForce } from '../support/brute-causes.ts'
import { dice } from '../support/dice.ts'
import { byAdvice, optimum } from '../support/optimum.ts'
import { randomSystem } from '../support/random-system.ts'

/** Two causes of which only one can be there, since both at once is all but impossible. */
const either = (minutes: number): System => ({
  causes: [
    { id: 'a', prior: 1e-9, repairMinutes: 47 },
    { id: 'b', prior: 1e-9, repairMinutes: 47 },
  ],
  facts: [{ id: 'see-a', shows: ['a'], minutes, hurts: false, misread: 0 }],
  symptom: { shows: ['a', 'b'], excludes: [] },
})

const plain = (system: System): System => ({
  ...system,
  facts: system.facts.map(fact => ({ ...fact, hurts: false, misread: 0 })),
})
const d = dice(21, 'optimum')
const random = Array.from({ length: 60 }, (_, i) =>
  plain(randomSystem(d, { causes: 3 + (i % 4), facts: 2 + (i % 5) }).system),
).filter(({ symptom }) => symptom.shows.length > 0)

describe('the exact optimum', () => {
  it('is what hand reckoning says: a look is worth half a repair here', () => {
    // Without a look 50 minutes, and in one case of two another 50; with one 50 and the look itself.
    expect(optimum(either(10)).minutes).toBeCloseTo(60, 6)
    expect(optimum(either(10)).looks).toBeCloseTo(1, 6)
    expect(optimum(either(30)).minutes).toBeCloseTo(75, 6)
    expect(optimum(either(30)).looks).toBe(0)
  })

  it('is never dearer than the advice, which comes within a quarter of it', () => {
    let [best, advised] = [0, 0]
    for (const system of random) {
      const least = optimum(system)
      const ours = byAdvice(system)
      expect(ours.minutes).toBeGreaterThanOrEqual(least.minutes - 1e-6)
      best += least.minutes
      advised += ours.minutes
    }
    expect(advised / best).toBeLessThan(1.25)
  })
})

describe('minimal causes', () => {
  it('are those that trying every set finds, on 300 random systems of up to 12 causes', () => {
    const dd = dice(22, 'brute')
    for (let i = 0; i < 300; i++) {
      const { system, readings } = randomSystem(dd, { causes: 1 + (i % 12), facts: 7 })
      expect(minimalCauses(system, readings).sort()).toEqual(minimalByBruteForce(system, readings).sort())
    }
  })
})
