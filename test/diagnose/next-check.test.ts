import { describe, expect, it } from 'vitest'
import { suspicions } from '../../shared/diagnose/likelihood.ts'
import { advise, usualCosts } from '../../shared/diagnose/next-check.ts'
import type { System, SystemFact } from '../../shared/diagnose/system.ts'
import { dice } from '../support/dice.ts'
import { randomSystem } from '../support/random-system.ts'

const cause = (id: string, prior: number, repairMinutes: number) => ({ id, prior, repairMinutes })
const fact = (id: string, shows: string[], rest: Partial<SystemFact> = {}): SystemFact => ({
  id,
  shows,
  minutes: 1,
  hurts: false,
  misread: 0,
  ...rest,
})
const system = (causes: System['causes'], facts: readonly SystemFact[]): System => ({
  causes,
  facts,
  symptom: { shows: causes.map(c => c.id), excludes: [] },
})
const permutations = <T>(items: readonly T[]): T[][] =>
  items.length === 0
    ? [[]]
    : items.flatMap((item, i) =>
        permutations([...items.slice(0, i), ...items.slice(i + 1)]).map(rest => [item, ...rest]),
      )

describe('what to do next', () => {
  it('repairs in the order of probability over cost, which no other order beats', () => {
    // Kalagnanam and Henrion, A comparison of decision analysis and expert rules for sequential diagnosis, 1988:
    // with one fault the order by p/c is the cheapest of all. Here every order is tried.
    const d = dice(3, 'orders')
    for (let round = 0; round < 40; round++) {
      const causes = ['a', 'b', 'c', 'd', 'e'].map(id =>
        cause(id, d.between(0.05, 0.4), Math.round(d.between(2, 60))),
      )
      const of = system(causes, [])
      const known = suspicions(of, new Map(), 1)
      const costs = permutations(known).map(orderOf => {
        let left = 1
        let minutes = 0
        for (const { members, likelihood } of orderOf) {
          minutes +=
            left * ((causes.find(c => c.id === members[0])?.repairMinutes ?? 0) + usualCosts.tryMinutes)
          left -= likelihood
        }
        return minutes
      })
      expect(advise(of, new Map(), usualCosts, known).repairMinutes).toBeCloseTo(Math.min(...costs), 6)
    }
  })

  it('looks before a dear repair, and repairs at once where the repair is cheaper than any look', () => {
    const causes = [cause('battery', 0.1, 1), cause('receiver', 0.1, 200)]
    const look = fact('lamp', ['battery'], { minutes: 2 })
    expect(advise(system(causes, [look]), new Map()).next).toEqual({ do: 'repair', causes: ['battery'] })
    const dear = [cause('battery', 0.1, 90), cause('receiver', 0.1, 200)]
    expect(advise(system(dear, [look]), new Map()).next).toEqual({ do: 'look', fact: 'lamp', again: false })
  })

  it('does not look where somebody could be hurt while a safe look is left', () => {
    const causes = [cause('a', 0.1, 90), cause('b', 0.1, 90)]
    const risky = fact('risky', ['a'], { hurts: true, minutes: 1 })
    const safe = fact('safe', ['a'], { minutes: 20 })
    expect(advise(system(causes, [risky, safe]), new Map()).next).toEqual({
      do: 'look',
      fact: 'safe',
      again: false,
    })
    const closed = { ...usualCosts, closed: new Set(['safe']) }
    expect(advise(system(causes, [risky, safe]), new Map(), closed).next).toEqual({
      do: 'look',
      fact: 'risky',
      again: false,
    })
  })

  it('repairs what two readings have singled out, both at once', () => {
    const causes = [cause('a', 0.01, 10), cause('b', 0.01, 10), cause('c', 0.01, 10)]
    const facts = [fact('see-a', ['a']), fact('see-b', ['b']), fact('see-c', ['c'])]
    const readings = new Map([
      ['see-a', 'unsound'],
      ['see-b', 'unsound'],
      ['see-c', 'sound'],
    ] as const)
    expect(advise(system(causes, facts), readings).next).toEqual({ do: 'repair', causes: ['a', 'b'] })
  })

  it('offers the next best thing where the best repair cannot be done, and waits where nothing else is worth it', () => {
    const causes = [cause('likely', 0.3, 5), cause('other', 0.1, 10), cause('dear', 0.001, 120)]
    const next = (...putOff: string[]) =>
      advise(system(causes, []), new Map(), { ...usualCosts, putOff: new Set(putOff) }).next
    expect(next()).toEqual({ do: 'repair', causes: ['likely'] })
    expect(next('likely')).toEqual({ do: 'repair', causes: ['other'] })
    // A hundred and twenty minutes for one chance in some hundreds, where the likely one was only put off.
    expect(next('likely', 'other')).toEqual({ do: 'ask' })
    // Two hours for nothing: a look at a minute is worth it, since it may do away with what was put off.
    const look = fact('lamp', ['likely'], { minutes: 1 })
    const likely = [cause('likely', 0.1, 5), cause('dear', 0.1, 120)]
    const looked = { ...usualCosts, putOff: new Set(['likely']) }
    expect(advise(system(likely, [look]), new Map(), looked).next).toMatchObject({ do: 'look' })
  })

  it('sends to somebody else when nothing explains it', () => {
    const of: System = { causes: [], facts: [], symptom: { shows: [], excludes: [] } }
    expect(advise(of, new Map()).next).toEqual({ do: 'ask' })
  })

  it('is worth its cost: what it saves is never more than what repairing at once costs', () => {
    const d = dice(5, 'advice')
    for (let i = 0; i < 100; i++) {
      const { system: of, readings } = randomSystem(d, { causes: 7, facts: 7 })
      const advice = advise(of, readings)
      for (const look of advice.looks) {
        expect(look.savesMinutes).toBeLessThan(advice.repairMinutes)
        expect(look.unsound).toBeGreaterThanOrEqual(0)
        expect(look.unsound).toBeLessThanOrEqual(1)
      }
    }
  })
})
