import { describe, expect, it } from 'vitest'
import { minimalCauses } from '../../shared/diagnose/consistent.ts'
import { suspicions } from '../../shared/diagnose/likelihood.ts'
import type { Reading, System } from '../../shared/diagnose/system.ts'
import { readFacts } from '../../shared/diagnose/system.ts'
import { worthTelling } from '../../shared/diagnose/telling.ts'
import { weigh } from '../../shared/diagnose/weigh.ts'
import { dice } from '../support/dice.ts'
import { plainSets } from '../support/plain-likelihood.ts'
import { randomSystem } from '../support/random-system.ts'

const priorOfOdds = (odds: number) => odds / (1 + odds)

const twoCabs: System = {
  causes: [
    { id: 'blue', prior: priorOfOdds(0.15), repairMinutes: 1 },
    { id: 'green', prior: priorOfOdds(0.85), repairMinutes: 1 },
  ],
  facts: [{ id: 'witness', shows: ['blue'], minutes: 1, hurts: false, misread: 0.2 }],
  symptom: { shows: ['blue', 'green'], excludes: [] },
}

describe('likelihoods', () => {
  it('are those of the two cabs: Tversky and Kahneman, Evidential impact of base rates, 1982: 0.41', () => {
    const [green, blue] = suspicions(twoCabs, new Map([['witness', 'unsound']]), 1)
    expect(blue).toMatchObject({ members: ['blue'], doubts: [] })
    expect(blue.likelihood).toBeCloseTo(0.12 / 0.29, 6)
    expect(green.doubts).toEqual(['witness'])
    expect(green.likelihood + blue.likelihood).toBeCloseTo(1, 12)
  })

  it('follow the prior odds where nothing has been read', () => {
    const all = suspicions(twoCabs, new Map(), 2)
    expect(all.map(s => s.members)).toEqual([['green'], ['blue'], ['blue', 'green']])
    expect(all[0].likelihood / all[1].likelihood).toBeCloseTo(0.85 / 0.15, 9)
    expect(all[2].likelihood / all[1].likelihood).toBeCloseTo(0.85, 9)
  })

  it('leave out what would have shown before', () => {
    const system: System = { ...twoCabs, symptom: { shows: ['blue', 'green'], excludes: ['green'] } }
    expect(suspicions(system, new Map(), 3).map(s => s.members)).toEqual([['blue']])
  })

  it('say nothing where nothing explains the symptom', () => {
    expect(suspicions({ ...twoCabs, symptom: { shows: [], excludes: [] } }, new Map())).toEqual([])
    expect(worthTelling([])).toEqual([])
  })
})

describe('the quick way', () => {
  it('gives what Bayes’ rule gives when it is written out, on 150 random systems', () => {
    const d = dice(13, 'plain')
    for (let i = 0; i < 150; i++) {
      const { system, readings } = randomSystem(d, { causes: 1 + (i % 12), facts: 1 + (i % 19) })
      const plain = plainSets(system, readings)
      const quick = suspicions(system, readings)
      const byName = new Map(plain.map(set => [set.members.join(), set]))
      for (const { members, likelihood, doubts } of quick) {
        const same = byName.get(members.join())
        expect(Math.abs(likelihood / (same?.likelihood ?? 0) - 1)).toBeLessThan(1e-6)
        expect(doubts).toEqual(same?.doubts)
      }
      // Nothing is left out but what is less likely by ten orders of magnitude than the likeliest.
      const told = new Set(quick.map(({ members }) => members.join()))
      for (const { members, likelihood } of plain)
        if (likelihood > plain[0].likelihood * 2e-10) expect(told).toContain(members.join())
      for (let k = 1; k < quick.length; k++)
        expect(quick[k].likelihood).toBeLessThanOrEqual(quick[k - 1].likelihood)
    }
  })

  it('goes through every set of one, two and three', () => {
    const causes = Array.from({ length: 20 }, (_, i) => ({ id: `c${i}`, prior: 0.1, repairMinutes: 1 }))
    const system = { causes, facts: [], symptom: { shows: causes.map(c => c.id), excludes: [] } }
    expect(weigh(system, new Map(), 3).logs).toHaveLength(20 + 190 + 1140)
  })
})

describe('what is worth telling', () => {
  it('is the minimal causes where no reading has to be doubted, on 300 random systems', () => {
    const d = dice(11, 'systems')
    for (let i = 0; i < 300; i++) {
      const { system, readings } = randomSystem(d, { causes: 8, facts: 6 })
      const minimal = minimalCauses(system, readings, 3)
      const told = worthTelling(suspicions(system, readings)).filter(s => s.doubts.length === 0)
      expect(told.map(s => [...s.members]).sort()).toEqual(minimal.sort())
    }
  })

  it('shares out all of the likelihood', () => {
    const d = dice(12, 'systems')
    for (let i = 0; i < 50; i++) {
      const { system, readings } = randomSystem(d, { causes: 8, facts: 6 })
      const told = worthTelling(suspicions(system, readings))
      const total = told.reduce((sum, { likelihood }) => sum + likelihood, 0)
      expect(total).toBeCloseTo(told.length === 0 ? 0 : 1, 9)
    }
  })

  it('doubts a reading rather than to suspect four things at once', () => {
    const causes = ['a', 'b', 'c', 'd'].map(id => ({ id, prior: 0.01, repairMinutes: 5 }))
    const facts = causes.map(({ id }) => ({
      id: `see-${id}`,
      shows: [id],
      minutes: 1,
      hurts: false,
      misread: 0.05,
    }))
    const system: System = { causes, facts, symptom: { shows: ['a'], excludes: [] } }
    const readings = new Map<string, Reading>(facts.map(fact => [fact.id, 'unsound']))
    const [first] = worthTelling(suspicions(system, readings))
    expect(first).toMatchObject({ members: ['a'], doubts: ['see-b', 'see-c', 'see-d'] })
    expect(minimalCauses(system, readings)).toEqual([['a', 'b', 'c', 'd']])
    expect(readFacts(system, readings)).toHaveLength(4)
  })
})
