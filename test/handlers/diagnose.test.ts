import { describe, expect, it } from 'vitest'
import { diagnoseHandlers } from '../../main/handlers/diagnose.ts'
import { createHandlers } from '../../main/handlers/index.ts'
import { simulateHere } from '../../main/work/simulate.ts'
import { simulations } from '../../main/work/simulations.ts'
import { tableKeeper } from '../../main/work/table-keeper.ts'
import { contract } from '../../shared/api/contract.ts'
import { diagnoseMethods } from '../../shared/api/diagnose.ts'
import { makeEvents, serveContract } from '../../shared/api/serve.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { modelTable } from '../../shared/diagnose/model.ts'
import { diagnosisSchema } from '../../shared/diagnose/report.ts'
import { withUnit } from '../../shared/fit/rule.ts'
import { testFolder } from '../support/folder.ts'

const bench = demoBench()
const asked = { bench, receiverId: 'wren-trainer', symptom: 'write-refused' } as const

function counting() {
  const made: string[] = []
  const tableFor = tableKeeper((...args) => {
    made.push(`${args[1]} ${args[2]}`)
    return modelTable(...args)
  })
  return { made, tableFor }
}

describe('diagnose.run', () => {
  it('answers over the contract, with what is asked next', async () => {
    const folder = testFolder('diagnose')
    const events = makeEvents(contract)
    const env = { hostKind: 'browser', dataFolder: folder.path, events, simulate: simulateHere() } as const
    const serve = serveContract(contract, createHandlers(env), error => expect.fail(String(error)))
    const outcome = await serve('diagnose.run', asked)
    if (!outcome.ok) throw new Error(outcome.problems.map(p => p.message).join())
    const reply = diagnosisSchema.parse(outcome.reply)
    expect(reply).toMatchObject({ symptom: 'write-refused', route: 'cable', next: { do: 'look' } })
    const nobody = await serve('diagnose.run', { ...asked, receiverId: 'nobody' })
    expect(nobody).toMatchObject({ ok: false, problems: [{ code: 'bench.no-receiver' }] })
    const nonsense = await serve('diagnose.run', { ...asked, answers: { 'line-quiet': 'perhaps' } })
    expect(nonsense.ok).toBe(false)
    folder.remove()
  })

  it('models a table once, whatever is answered and whatever else changes on the bench', async () => {
    const { made, tableFor } = counting()
    const handlers = diagnoseHandlers(simulateHere(simulations(tableFor)))
    const ask = (change: object) =>
      handlers['diagnose.run'](diagnoseMethods['diagnose.run'].request.parse({ ...asked, ...change }))
    await ask({})
    await ask({ answers: { 'line-quiet': 'no' } })
    await ask({ symptom: 'stops', route: 'cable' })
    await ask({ bench: withUnit(bench, 'radios', 'tarn', { batteryVolts: 7.1 }) })
    expect(made).toEqual(['wren-trainer cable'])
    await ask({ symptom: 'not-offered' })
    expect(made).toEqual(['wren-trainer cable', 'wren-trainer wireless'])
  })

  it('models anew what the receiver’s own type changes, and forgets the oldest', () => {
    const { made, tableFor } = counting()
    const withSettling = (settleMs: number) => ({
      ...bench,
      catalogue: {
        ...bench.catalogue,
        receiverTypes: bench.catalogue.receiverTypes.map(t => ({ ...t, boot: { ...t.boot, settleMs } })),
      },
    })
    for (let i = 0; i < 9; i++) tableFor({ ...asked, bench: withSettling(100 + i) })
    expect(made).toHaveLength(9)
    tableFor({ ...asked, bench: withSettling(108) })
    expect(made).toHaveLength(9)
    tableFor({ ...asked, bench: withSettling(100) })
    expect(made).toHaveLength(10)
  })
})
