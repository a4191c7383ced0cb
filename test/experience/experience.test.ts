import { describe, expect, it } from 'vitest'
import { ENOUGH, experienceOf, experienceSchema, NO_EXPERIENCE } from '../../shared/experience/experience.ts'
import { wilsonInterval } from '../../shared/experience/interval.ts'
import type { RunFacts } from '../../shared/experience/run-facts.ts'

const one = (change: Partial<RunFacts> = {}): RunFacts => ({
  ...{ typeId: 'wren', way: 'cable', first: 'worked', second: null, times: {}, secondTry: null },
  ...change,
})
const many = (count: number, change: Partial<RunFacts>) => Array.from({ length: count }, () => one(change))

describe('what one’s own bench has shown', () => {
  it('is nothing at first', () => {
    expect(experienceOf([], 'cable', 'wren')).toEqual(NO_EXPERIENCE)
    expect(experienceOf([one({ first: null })], 'cable', 'wren')).toEqual(NO_EXPERIENCE)
  })

  it('counts first attempts that failed, and second ones that worked', () => {
    const all = [
      ...many(7, {}),
      one({ first: 'failed', second: 'worked' }),
      one({ first: 'failed', second: 'failed' }),
      one({ first: 'failed' }),
      one({ first: null }),
    ]
    const { first, second } = experienceOf(all, 'cable', 'wren')
    expect(first).toEqual({ failed: 3, of: 10, ...wilsonInterval(3, 10), isOfType: true })
    expect(second).toEqual({ worked: 1, of: 2 })
  })

  it('keeps the routes apart', () => {
    const all = [one(), ...many(4, { way: 'wireless', first: 'failed' })]
    expect(experienceOf(all, 'cable', 'wren').first).toMatchObject({ failed: 0, of: 1 })
    expect(experienceOf(all, 'wireless', 'wren').first).toMatchObject({ failed: 4, of: 4 })
  })

  it('takes the type alone where there is enough of it, each number by itself', () => {
    const own = (count: number) => many(count, { first: 'failed', times: { watch: 50_000 } })
    const others = many(6, { typeId: 'heron', times: { watch: 80_000, drive: 9_000 } })
    const few = experienceOf([...own(ENOUGH - 1), ...others], 'cable', 'wren')
    expect(few.first).toMatchObject({ failed: 2, of: 8, isOfType: false })
    expect(few.times.watch).toEqual({ ms: 80_000, runs: 8, isOfType: false })
    const enough = experienceOf([...own(ENOUGH), ...others], 'cable', 'wren')
    expect(enough.first).toMatchObject({ failed: 3, of: 3, isOfType: true })
    expect(enough.times.watch).toEqual({ ms: 50_000, runs: 3, isOfType: true })
    expect(enough.times.drive).toEqual({ ms: 9_000, runs: 6, isOfType: false })
    expect(experienceOf([...own(ENOUGH), ...others], 'cable', null).first).toMatchObject({
      of: 9,
      isOfType: false,
    })
  })

  it('says the middle of the times, which one that is far off does not move', () => {
    const all = [40_000, 44_000, 42_000, 400_000].map(watch => one({ times: { watch } }))
    const found = experienceOf(all, 'cable', 'wren')
    expect(found.times.watch).toMatchObject({ ms: 43_000, runs: 4 })
    expect(experienceSchema.parse(found)).toEqual(found)
  })
})
