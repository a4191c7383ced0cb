import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { findings } from '../../shared/fit/rules.ts'
import { clustersNeeded } from '../../shared/fit/rules-bench.ts'
import { situationOf } from '../../shared/fit/situation.ts'
import { type Bench, checkBench } from '../../shared/model/bench.ts'
import { isKnown } from '../../shared/model/units.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { stagingOf } from '../../shared/rehearse/table.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'

const demo = demoBench()
const typeOf = (id: string) => {
  const type = demo.catalogue.receiverTypes.find(t => t.id === id)
  if (type === undefined) throw new Error(`no type ${id}`)
  return type
}

/** The demo with everything on it changed at random within what a bench file allows. */
const tables = fc.record({
  cableFeed: fc.constantFrom('through-cable', 'own-supply', 'both'),
  cableId: fc.constantFrom('update-cable', 'signal-cable', undefined),
  distanceMetres: fc.constantFrom(0.01, 2, 4000),
  batteryVolts: fc.constantFrom(0, 6.5, 8),
  freeBytes: fc.constantFrom(0, 100_000, 1_000_000_000),
  readOnly: fc.boolean(),
  withCard: fc.boolean(),
  on: fc.boolean(),
  generation: fc.constantFrom(1, 2, 3, 'unknown'),
  band: fc.constantFrom('2.4GHz', '868MHz', '915MHz'),
  firmware: fc.constantFrom('0.1.0', '4.1.0', '99.0.0', 'unknown'),
  volts: fc.constantFrom(0, 3, 5, 14),
  internalOhms: fc.constantFrom(0, 0.1, 60),
})

function benchOf(t: typeof tables extends fc.Arbitrary<infer R> ? R : never): Bench {
  const { cableFeed, cableId, distanceMetres, on, generation, band, firmware, volts, internalOhms } = t
  const checked = checkBench({
    ...demo,
    wiring: { ...demo.wiring, cableFeed, cableId, distanceMetres },
    radios: demo.radios.map(r => ({
      ...r,
      batteryVolts: t.batteryVolts,
      cardId: t.withCard ? r.cardId : undefined,
    })),
    cards: demo.cards.map(c => ({ ...c, freeBytes: t.freeBytes, readOnly: t.readOnly })),
    modules: demo.modules.map(m => ({ ...m, on, generation, band, firmware })),
    supplies: demo.supplies.map(s => ({ ...s, volts, internalOhms })),
  })
  if (!checked.ok) throw new Error(checked.problems[0].message)
  return checked.value
}

describe('remedies', () => {
  it('make their own rule hold, for every receiver and image of the demo on any table', () => {
    let applied = 0
    fc.assert(
      fc.property(
        tables,
        fc.constantFrom(...demo.receivers.filter(r => isKnown(r.typeId))),
        fc.constantFrom('cable' as const, 'wireless' as const),
        (table, receiver, route) => {
          const bench = benchOf(table)
          const facts = builtFacts(demo.images[applied % demo.images.length], typeOf(receiver.typeId))
          const s = situationOf(bench, receiver.id, route, facts)
          if (s === undefined) throw new Error('no such receiver')
          for (const finding of findings(s))
            for (const remedy of finding.remedies) {
              if (remedy.otherImage || remedy.route) continue
              applied++
              const changed = checkBench(remedy.apply(bench))
              if (!changed.ok) throw new Error(`${remedy.label} ${changed.problems[0].message}`)
              const after = situationOf(changed.value, receiver.id, route, facts)
              const again = after && findings(after).find(f => f.rule.id === finding.rule.id)
              // Where the rule speaks of no more than what was wrong, it no longer applies.
              expect(again?.holds ?? 'yes', `${finding.rule.id}: ${remedy.label}`).toBe('yes')
            }
        },
      ),
      { numRuns: 500 },
    )
    expect(applied).toBeGreaterThan(1000)
  })

  it('leave the bench that they were given as it was', () => {
    const bench = benchOf(fc.sample(tables, { numRuns: 1, seed: 4 })[0])
    const before = JSON.stringify(bench)
    for (const { id } of demo.receivers)
      for (const route of ['cable', 'wireless'] as const) {
        const s = situationOf(bench, id, route, undefined)
        if (s) for (const f of findings(s)) for (const remedy of f.remedies) remedy.apply(bench)
      }
    expect(JSON.stringify(bench)).toBe(before)
  })
})

describe('card-room and the card itself', () => {
  it('agree: where the rule says that there is room, the card takes image and image card', () => {
    const image = benchImage(demo, typeOf('aldwick-wren-6'), 'wren-6-2.4.0')
    if (!image.ok) throw new Error(image.problems[0].message)
    const { files } = stagingOf(image.value, 'IMAGES')
    for (const clusterBytes of [512, 4096, 32_768, 1 << 20]) {
      const freeBytes = clustersNeeded(image.value.payload.length, clusterBytes) * clusterBytes
      const take = (free: number) => {
        const card = new VirtualCard({ ...demo.cards[0], clusterBytes, freeBytes: free }, new TraceRecorder())
        return files.every(
          f => card.ask({ op: 'create', path: f.path, bytes: f.octets.length }).result.got === 'done',
        )
      }
      expect(take(freeBytes), `clusters of ${clusterBytes}`).toBe(true)
      if (clusterBytes >= 4096) expect(take(freeBytes - clusterBytes)).toBe(false)
    }
  })
})
