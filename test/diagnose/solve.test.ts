import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { type HideOptions, hideFaults } from '../../shared/diagnose/hide.ts'
import { modelSymptom, modelTable } from '../../shared/diagnose/model.ts'
import { identify, solve } from '../../shared/diagnose/solve.ts'

const bench = demoBench()
const tables = {
  cable: modelTable(bench, 'heron-biplane', 'cable')!,
  wireless: modelTable(bench, 'heron-biplane', 'wireless')!,
}
function game(seed: number, options: HideOptions) {
  const hide = () => hideFaults(bench, 'heron-biplane', seed, options)!
  const hidden = hide()
  const table = tables[hidden.route]
  return { hide, hidden, table, model: modelSymptom(table, hidden.symptom) }
}
const seeds = Array.from({ length: 30 }, (_, i) => 500 + i)

describe('the engine in the tester’s corner', () => {
  it('gets a table with one hidden fault going by its own advice, and counts what it took', () => {
    for (const seed of seeds) {
      const { hidden, table } = game(seed, { faults: 1 })
      const solved = solve(hidden, table)
      expect(solved.works, `${hidden.symptom}: ${hidden.truth}`).toBe(true)
      expect(solved.repaired).toContain(hidden.truth[0])
      expect(hidden.after(solved.repaired)).toBe('none')
      expect(solved.minutes).toBeGreaterThanOrEqual(3 * solved.repairs + solved.looks)
    }
  })

  it('goes on with the next symptom where one fault hid another', () => {
    const pairs = seeds.map(seed => game(seed, { faults: 2 }))
    const solved = pairs.map(({ hidden, table }) => solve(hidden, table))
    const went = solved.filter(({ works }) => works).length
    expect(went).toBeGreaterThanOrEqual(seeds.length * 0.9)
    const hiding = pairs.findIndex(
      ({ hidden }) =>
        hidden.truth.every(id => hidden.after([id]) !== 'none') &&
        hidden.after([hidden.truth[0]]) !== hidden.symptom,
    )
    expect(hiding).toBeGreaterThanOrEqual(0)
    expect(solved[hiding].repairs).toBeGreaterThanOrEqual(2)
  })

  it('finds more of what is hidden when doubted answers are looked at again', () => {
    const found = { once: 0, twice: 0 }
    for (const seed of seeds) {
      const { hide, hidden, model } = game(seed, { faults: 1, lies: 0.15 })
      const once = identify(hide(), model, false)
      const twice = identify(hide(), model)
      expect(once.looks).toBe(model.facts.length)
      expect(twice.looks).toBeGreaterThanOrEqual(once.looks)
      if (once.top?.members.join() === hidden.truth.join()) found.once++
      if (twice.top?.members.join() === hidden.truth.join()) found.twice++
    }
    expect(found.twice).toBeGreaterThan(found.once)
  })
})
