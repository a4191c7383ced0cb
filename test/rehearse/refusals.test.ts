import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { withUnit } from '../../shared/fit/rule.ts'
import type { RuleId } from '../../shared/fit/rule-ids.ts'
import { RULES, ruleById } from '../../shared/fit/rules.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import type { RehearsalRequest } from '../../shared/rehearse/report.ts'

/**
 * Nothing knows a compatibility fact twice: what a rule calls broken, the simulated device that stands by the rule
 * refuses, and names that very rule.
 */
const demo = demoBench()
const inModule = (change: object): Bench => withUnit(demo, 'modules', 'inner-tarn', change)
const inType = (change: Partial<ReceiverType>): Bench => ({
  ...demo,
  catalogue: {
    ...demo.catalogue,
    receiverTypes: demo.catalogue.receiverTypes.map(t =>
      t.id === 'aldwick-wren-6' ? { ...t, ...change } : t,
    ),
  },
})
const inImage = (change: Partial<Bench['images'][number]>): Bench => ({
  ...demo,
  images: demo.images.map(i => (i.id === 'wren-6-2.4.0' ? { ...i, ...change } : i)),
})
const moduleType = (change: object): Bench => ({
  ...demo,
  catalogue: {
    ...demo.catalogue,
    moduleTypes: demo.catalogue.moduleTypes.map(t =>
      t.id === 'aldwick-skein-inner' ? { ...t, ...change } : t,
    ),
  },
})

const CASES: [RuleId, Partial<RehearsalRequest>][] = [
  ['image-type', { image: { kind: 'bench', imageId: 'heron-8-1.7.0' } }],
  ['image-hardware', { bench: inImage({ hardwareRevisions: ['A'] }) }],
  ['image-generation', { bench: inImage({ generation: 2 }) }],
  ['image-band', { bench: inImage({ bands: ['868MHz'] }) }],
  ['image-region', { bench: inImage({ region: 'hopping' }) }],
  ['image-intact', { faults: [{ name: 'damaged-image' }] }],
  ['image-label', { faults: [{ name: 'wrong-type', value: 'mislabelled' }] }],
  ['conversion-by-cable', { route: 'wireless', bench: convertible() }],
  ['wireless-image', { route: 'wireless', bench: inImage({ wirelessCapable: false }) }],
  ['wireless-type', { route: 'wireless', bench: inType({ wirelessUpdate: false }) }],
  [
    'first-by-cable',
    {
      route: 'wireless',
      bench: withUnit(inModule({ firmware: '4.0.0' }), 'receivers', 'wren-trainer', { firmware: '1.9.0' }),
    },
  ],
  [
    'module-present',
    { route: 'wireless', bench: withUnit(demo, 'radios', 'tarn', { moduleIds: ['reach-tarn'] }) },
  ],
  ['module-on', { route: 'wireless', bench: inModule({ on: false }) }],
  ['module-hardware', { route: 'wireless', bench: moduleType({ generations: [1, 2] }) }],
  ['module-generation', { route: 'wireless', bench: inModule({ generation: 2 }) }],
  ['module-band', { route: 'wireless', bench: inModule({ band: '915MHz' }) }],
  ['module-region', { route: 'wireless', bench: inModule({ region: 'hopping' }) }],
  ['module-wireless', { route: 'wireless', bench: moduleType({ wirelessUpdate: false }) }],
  ['module-firmware', { route: 'wireless', bench: inModule({ firmware: '3.0.0' }) }],
  ['radio-battery', { bench: withUnit(demo, 'radios', 'tarn', { batteryVolts: 6.8 }) }],
  ['radio-system', { bench: inImage({ radioSystem: '>=9.0.0' }) }],
  ['stepping-stone', { bench: inImage({ receiverFirmware: '>=2.2.0' }) }],
  ['card-present', { bench: withUnit(demo, 'radios', 'tarn', { cardId: undefined }) }],
  ['card-room', { bench: withUnit(demo, 'cards', 'card-tarn', { freeBytes: 100_000 }) }],
]

/** A Wren that could be converted, and an image that converts it. */
function convertible(): Bench {
  const bench = inType({ conversions: [{ from: 3, to: 4, oneWay: true, replacesBootLoader: false }] })
  return {
    ...bench,
    images: bench.images.map(i => (i.id === 'wren-6-2.4.0' ? { ...i, generation: 4, convertsFrom: 3 } : i)),
  }
}

describe('what the simulated devices refuse', () => {
  it('is every rule that a device stands by, but one that is found out before anything is rehearsed', () => {
    const devices = ['card', 'radio', 'module', 'receiver']
    const enforced = RULES.filter(r => devices.includes(r.enforcedBy) && r.severity === 'block').map(
      r => r.id,
    )
    // An image that is too large is a problem of the request; the receiver's own refusal is in its own tests.
    expect([...CASES.map(([id]) => id), 'image-size'].sort()).toEqual([...enforced].sort())
  })

  for (const [id, change] of CASES)
    it(`${id}, by whom the rule says`, () => {
      const done = rehearse({
        bench: demo,
        receiverId: 'wren-trainer',
        image: { kind: 'bench', imageId: 'wren-6-2.4.0' },
        route: 'cable',
        seed: 1,
        faults: [],
        dropOutside: false,
        ...change,
      })
      if (!done.ok) throw new Error(done.problems[0].message)
      const { trace, report } = done.value
      const refused = trace.events.flatMap(({ event }) => (event.kind === 'refused' ? [event] : []))
      expect(refused.map(e => e.rule)).toContain(id)
      expect(refused.find(e => e.rule === id)?.by).toBe(ruleById(id)?.enforcedBy)
      expect(report.outcome).not.toBe('updated')
      expect(report.recovery?.rehearsed.outcome).toBe('updated')
    })
})

it('is not rehearsed with a receiver whose type nobody knows, and says where to find it out', () => {
  const done = rehearse({
    bench: demo,
    receiverId: 'flea-market',
    image: { kind: 'bench', imageId: 'wren-6-2.4.0' },
    route: 'cable',
    seed: 1,
    faults: [],
    dropOutside: false,
  })
  expect(!done.ok && done.problems[0].code).toBe('receiver.type-not-known')
  expect(!done.ok && done.problems[0].remedy).toContain('fit --receiver flea-market')
})
