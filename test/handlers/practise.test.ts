import { describe, expect, it } from 'vitest'
import { tableKeeper } from '../../main/handlers/diagnose.ts'
import { practiseHandlers } from '../../main/handlers/practise.ts'
import { contract } from '../../shared/api/contract.ts'
import { practiseMethods } from '../../shared/api/practise.ts'
import { serveContract } from '../../shared/api/serve.ts'
import { modelTable } from '../../shared/diagnose/model.ts'

type AnyHandlers = Parameters<typeof serveContract<typeof contract>>[1]

describe('practise.run', () => {
  it('answers over the contract, and keeps the truth back until the end', async () => {
    const handlers = practiseHandlers() as AnyHandlers
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

  it('models each table once, however many exercises there are', () => {
    const made: string[] = []
    const keeper = tableKeeper((...args) => {
      made.push(args[2])
      return modelTable(...args)
    })
    const handlers = practiseHandlers(keeper)
    for (let seed = 1; seed <= 12; seed++)
      handlers['practise.run']({ seed, faults: 'either', lies: false, steps: [] })
    expect(made.toSorted()).toEqual(['cable', 'wireless'])
  })
})
