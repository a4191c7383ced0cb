import { describe, expect, it } from 'vitest'
import { stepChanges, unitsOf } from '../../../../renderer/fleet/sheet/effects.ts'
import { demoBench } from '../../../../shared/demo/bench.ts'

const bench = demoBench()

describe('what a change does to the receivers', () => {
  it('is nothing where nothing changes', () => {
    expect(stepChanges(bench, demoBench())).toEqual([])
  })

  it('names those that fall out of step, and why, and those that come into step the other way round', () => {
    const [inner] = bench.modules
    const other = {
      ...bench,
      modules: bench.modules.map(m => (m.id === inner.id ? { ...m, generation: 1 } : m)),
    }
    const fell = stepChanges(bench, other)
    expect(fell.length).toBeGreaterThan(0)
    for (const change of fell)
      expect(change).toMatchObject({ before: 'in step', after: 'out of step', fellOut: true })
    expect(fell.every(change => change.because?.includes('generation'))).toBe(true)
    const rose = stepChanges(other, bench)
    expect(rose.map(change => [change.nickname, change.fellOut, change.because])).toEqual(
      fell.map(change => [change.nickname, false, undefined]),
    )
  })

  it('says nothing of receivers that are new or gone', () => {
    const fewer = { ...bench, receivers: bench.receivers.slice(1) }
    expect(stepChanges(bench, fewer).map(change => change.receiverId)).not.toContain(bench.receivers[0].id)
    expect(stepChanges(fewer, bench).map(change => change.receiverId)).not.toContain(bench.receivers[0].id)
  })

  it('counts the units of a type', () => {
    const wrens = bench.receivers.filter(unit => unit.typeId === 'aldwick-wren-6').length
    expect(wrens).toBeGreaterThan(1)
    expect(unitsOf(bench, 'receiverTypes', 'aldwick-wren-6')).toBe(wrens)
    expect(unitsOf(bench, 'moduleTypes', 'aldwick-wren-6')).toBe(0)
    expect(unitsOf(bench, 'connectors', 'three-pin')).toBe(0)
  })
})
