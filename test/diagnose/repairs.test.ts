import { describe, expect, it } from 'vitest'
import { openShop, planRepairs } from '../../shared/diagnose/repairs.ts'
import type { System } from '../../shared/diagnose/system.ts'

const ids = (count: number) => Array.from({ length: count }, (_, i) => `c${i}`)
const systemOf = (names: readonly string[], shows: readonly string[] = names): System => ({
  causes: names.map((id, i) => ({ id, prior: 0.1, repairMinutes: 10 + i })),
  facts: [],
  symptom: { shows, excludes: [] },
})
const costs = { tryMinutes: 3, giveUpMinutes: 240 }

describe('repairing without looking further', () => {
  it('costs what hand reckoning says: the likelier and cheaper first, the second only where it has to be', () => {
    const shop = openShop(systemOf(['c0', 'c1']), [{ members: ['c0'] }, { members: ['c1'] }], costs)
    const plan = planRepairs(shop, Float64Array.of(0.7, 0.3))
    expect(plan.first).toEqual(['c0'])
    expect(plan.minutes).toBeCloseTo(13 + 0.3 * 14, 9)
  })

  it('pays for a repair once, and not at all for what does not bring the symptom about', () => {
    const suspected = [{ members: ['c0'] }, { members: ['c0', 'c1'] }, { members: ['c0', 'c2'] }]
    const shop = openShop(systemOf(['c0', 'c1', 'c2'], ['c0', 'c1']), suspected, costs)
    expect(shop.cures.map(cure => cure.ids)).toEqual([['c0'], ['c0', 'c1']])
    const plan = planRepairs(shop, Float64Array.of(0.6, 0.3, 0.1))
    expect(plan.minutes).toBeCloseTo(13 + 0.3 * 14, 9)
  })

  it('tells more causes apart than one whole number has bits', () => {
    const names = ids(45)
    const shop = openShop(
      systemOf(names),
      names.map(id => ({ members: [id] })),
      { ...costs, tryMinutes: 0 },
    )
    const weights = new Float64Array(45)
    weights[44] = 1
    expect(planRepairs(shop, weights)).toEqual({ minutes: 54, first: ['c44'] })
  })

  it('reckons with what cannot be put right now by hand: its try is in vain each time, and it is given up on', () => {
    const suspected = [{ members: ['c0'] }, { members: ['c1'] }, { members: ['c0', 'c2'] }]
    const shop = openShop(systemOf(['c0', 'c1', 'c2']), suspected, { ...costs, putOff: new Set(['c0']) })
    const plan = planRepairs(shop, Float64Array.of(0.5, 0.3, 0.2))
    expect(plan.first).toEqual(['c1'])
    expect(plan.minutes).toBeCloseTo(14 + 0.7 * 240, 9)
  })

  it('gives up on what cannot be told from anything', () => {
    const shop = openShop(systemOf([]), [], costs)
    expect(planRepairs(shop, new Float64Array(0))).toEqual({ minutes: 240, first: [] })
  })
})
