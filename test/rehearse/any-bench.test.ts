import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { withUnit } from '../../shared/fit/rule.ts'
import { type Bench, checkBench } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'

type Change = (bench: Bench) => Bench
const unit =
  (list: 'radios' | 'modules' | 'receivers' | 'cards' | 'cables', id: string) =>
  (change: object): Change =>
  bench =>
    withUnit(bench, list, id, change)
const [radio, module, receiver, card, cable] = [
  unit('radios', 'tarn'),
  unit('modules', 'inner-tarn'),
  unit('receivers', 'wren-trainer'),
  unit('cards', 'card-tarn'),
  unit('cables', 'update-cable'),
]
const wiring =
  (change: Partial<Bench['wiring']>): Change =>
  bench => ({ ...bench, wiring: { ...bench.wiring, ...change } })
const supplies =
  (change: object): Change =>
  bench => ({ ...bench, supplies: bench.supplies.map(s => ({ ...s, ...change })) })
const wren =
  (change: Partial<ReceiverType>): Change =>
  bench => ({
    ...bench,
    catalogue: {
      ...bench.catalogue,
      receiverTypes: bench.catalogue.receiverTypes.map((t, i) => (i === 0 ? { ...t, ...change } : t)),
    },
  })
const noPort: Change = bench => ({
  ...bench,
  catalogue: {
    ...bench.catalogue,
    radioTypes: bench.catalogue.radioTypes.map(t => ({ ...t, updatePort: 'unknown' as const })),
  },
})
const noSupplies: Change = bench => ({
  ...bench,
  supplies: [],
  models: [],
  wiring: { ...bench.wiring, benchSupplyId: undefined },
})

/** What people's tables may look like: anything wrong, missing or not known, alone and together. */
const CHANGES: Change[] = [
  ...[0, 6, 6.9].map(batteryVolts => radio({ batteryVolts })),
  radio({ systemVersion: 'unknown' }),
  radio({ cardId: undefined }),
  radio({ moduleIds: [] }),
  radio({ moduleIds: ['reach-tarn'] }),
  ...[0, 4096, 20_000].map(freeBytes => card({ freeBytes })),
  ...[512, 32_768].map(clusterBytes => card({ clusterBytes })),
  card({ readOnly: true }),
  module({ on: false }),
  ...[1, 2, 'unknown'].map(generation => module({ generation })),
  ...['868MHz', '915MHz'].map(band => module({ band })),
  ...['unknown', '0.0.1', '99.0.0'].map(firmware => module({ firmware })),
  ...['unknown', 'hopping'].map(region => module({ region })),
  ...['unknown', '0.0.0', '99999.1.1-rc.1'].map(firmware => receiver({ firmware })),
  ...['unknown', 'hopping'].map(region => receiver({ region })),
  ...[1, 2, 'unknown'].map(generation => receiver({ generation })),
  ...['unknown', 'Z'].map(hardwareRevision => receiver({ hardwareRevision })),
  receiver({ boundTo: undefined }),
  ...(['both', 'own-supply'] as const).map(cableFeed => wiring({ cableFeed })),
  ...['signal-cable', undefined].map(cableId => wiring({ cableId })),
  ...[0.01, 4000, 20_000].map(distanceMetres => wiring({ distanceMetres })),
  cable({ wires: [] }),
  cable({ wires: [{ from: 'positive', to: 'signal' }] }),
  ...[0, 3, 14, 60].map(volts => supplies({ volts })),
  supplies({ internalOhms: 50 }),
  supplies({ limitMilliamps: 30 }),
  ...([false, 'unknown'] as const).map(wirelessUpdate => wren({ wirelessUpdate })),
  noPort,
  noSupplies,
]

function run(changes: readonly Change[], route: 'cable' | 'wireless', seed: number) {
  const checked = checkBench(changes.reduce((bench, change) => change(bench), smallBench()))
  if (!checked.ok) throw new Error(checked.problems[0].message)
  const done = rehearse(smallRequest({ bench: checked.value, route, seed }))
  if (!done.ok) throw new Error(done.problems[0].message)
  return done.value.report
}

describe('any table', () => {
  it('has a true outcome, and a recovery that works and harms nobody', () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.nat(CHANGES.length - 1), { minLength: 1, maxLength: 7 }),
        fc.constantFrom('cable' as const, 'wireless' as const),
        fc.nat(0xffff),
        (picked, route, seed) => {
          const report = run(
            picked.map(i => CHANGES[i]),
            route,
            seed,
          )
          if (report.outcome === 'updated') expect(report.flashEqualsImage).toBe(true)
          else if (report.outcome !== 'destroyed') expect(report.recovery?.rehearsed.outcome).toBe('updated')
        },
      ),
      { numRuns: 300, seed: 20261125 },
    )
  }, 30_000)

  it('with each thing wrong alone, likewise', () => {
    for (const change of CHANGES)
      for (const route of ['cable', 'wireless'] as const) {
        const report = run([change], route, 1)
        if (report.outcome !== 'updated' && report.outcome !== 'destroyed')
          expect(report.recovery?.rehearsed.outcome, report.why).toBe('updated')
      }
  })

  it('that nothing puts right is told so, once, and nobody is sent on', () => {
    const draw = { ...smallBench().catalogue.receiverTypes[0].draw, flashMilliamps: 20_000 }
    const { outcome, recovery } = run([wren({ draw })], 'wireless', 1)
    expect(outcome).not.toBe('updated')
    const steps = recovery?.steps.map(s => s.text) ?? []
    expect(steps.at(-1)).toMatch(/^Stop here: nothing here puts this right\. Under 20/)
    expect(new Set(steps).size).toBe(steps.length)
    expect(recovery?.rehearsed.outcome).not.toBe('updated')
  })
})
