import { describe, expect, it } from 'vitest'
import { practiseHandlers } from '../../main/handlers/practise.ts'
import { simulateHere } from '../../main/work/simulate.ts'
import { simulations } from '../../main/work/simulations.ts'
import { tableKeeper, thoughtKeeper } from '../../main/work/table-keeper.ts'
import { contract } from '../../shared/api/contract.ts'
import { practiseMethods } from '../../shared/api/practise.ts'
import { serveContract } from '../../shared/api/serve.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { hideFaults } from '../../shared/diagnose/hide.ts'
import { modelTable } from '../../shared/diagnose/model.ts'
import { afterLook, beginSearch, consider } from '../../shared/diagnose/search.ts'

type AnyHandlers = Parameters<typeof serveContract<typeof contract>>[1]

describe('practise.run', () => {
  it('answers over the contract, and keeps the truth back until the end', async () => {
    const handlers = practiseHandlers(simulateHere()) as AnyHandlers
    const serve = serveContract(contract, handlers, error => expect.fail(String(error)))
    const asked = { seed: 3, faults: 'one', lies: true, steps: [] as object[] }
    const begun = await serve('practise.run', asked)
    if (!begun.ok) throw new Error(begun.problems.map(p => p.message).join())
    expect(practiseMethods['practise.run'].reply.parse(begun.reply)).toMatchObject({ end: null })
    const given = await serve('practise.run', { ...asked, steps: [{ do: 'give-up' }] })
    if (!given.ok) throw new Error(given.problems.map(p => p.message).join())
    const { end } = practiseMethods['practise.run'].reply.parse(given.reply)
    expect(end).toMatchObject({ works: false, engine: { works: true } })
    expect(end?.truth).toHaveLength(1)
    const steps = [{ do: 'look', fact: 'nonsense' }]
    expect(await serve('practise.run', { ...asked, steps })).toMatchObject({
      ok: false,
      problems: [{ code: 'practise.fact', field: 'steps[0]' }],
    })
    for (const wrong of [{ seed: -1 }, { seed: 1.5 }, { faults: 'three' }, { steps: [{ do: 'cheat' }] }])
      expect((await serve('practise.run', { ...asked, ...wrong })).ok).toBe(false)
  })

  it('models each table once, however many exercises there are', async () => {
    const made: string[] = []
    const keeper = tableKeeper((...args) => {
      made.push(args[2])
      return modelTable(...args)
    })
    const handlers = practiseHandlers(simulateHere(simulations(keeper)))
    for (let seed = 1; seed <= 12; seed++)
      await handlers['practise.run']({ seed, faults: 'either', lies: false, steps: [] })
    expect(made.toSorted()).toEqual(['cable', 'wireless'])
  })

  it('thinks of each situation once, and of another one anew', () => {
    let thought = 0
    const think = thoughtKeeper(search => {
      thought++
      return consider(search)
    })
    const hidden = hideFaults(demoBench(), 'wren-trainer', 3, { faults: 1 })!
    const begun = beginSearch(hidden, modelTable(demoBench(), 'wren-trainer', hidden.route)!)
    const first = think(begun)
    expect(think({ ...begun })).toBe(first)
    expect(thought).toBe(1)
    const fact = begun.model.facts[0].spec.id
    expect(think(afterLook(begun, fact, 'yes'))).not.toEqual(first)
    expect(think(afterLook(begun, fact, 'no'))).toEqual(consider(afterLook(begun, fact, 'no')))
    expect(think({ ...begun, tried: ['module-off'] })).not.toBe(first)
    expect(thought).toBe(4)
  })
})
