import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { withUnit } from '../../shared/fit/rule.ts'
import { RULE_IDS, type RuleId } from '../../shared/fit/rule-ids.ts'
import { checkFit, findings, firstBroken, RULES, ruleById } from '../../shared/fit/rules.ts'
import { type ImageFacts, type Situation, situationOf } from '../../shared/fit/situation.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import type { Route } from '../../shared/model/units.ts'

const demo = demoBench()
const wren = demo.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6')!
const image = builtFacts(demo.images[0], wren)

interface Case {
  readonly route?: Route
  readonly receiverId?: string
  readonly bench?: (bench: Bench) => Bench
  readonly image?: Partial<ImageFacts>
}

function situation({
  route = 'wireless',
  receiverId = 'wren-trainer',
  bench = b => b,
  image: change,
}: Case): Situation {
  const made = situationOf(bench(demo), receiverId, route, { ...image, ...change })
  if (made === undefined) throw new Error('no such receiver')
  return made
}

const inType =
  (change: Partial<ReceiverType>) =>
  (bench: Bench): Bench => ({
    ...bench,
    catalogue: {
      ...bench.catalogue,
      receiverTypes: bench.catalogue.receiverTypes.map(t => (t.id === wren.id ? { ...t, ...change } : t)),
    },
  })
const inModuleType =
  (change: object) =>
  (bench: Bench): Bench => ({
    ...bench,
    catalogue: {
      ...bench.catalogue,
      moduleTypes: bench.catalogue.moduleTypes.map(t =>
        t.id === 'aldwick-skein-inner' ? { ...t, ...change } : t,
      ),
    },
  })
const inRadioType =
  (change: object) =>
  (bench: Bench): Bench => ({
    ...bench,
    catalogue: {
      ...bench.catalogue,
      radioTypes: bench.catalogue.radioTypes.map(t => (t.id === 'aldwick-tarn-16' ? { ...t, ...change } : t)),
    },
  })
const inReceiver = (change: object) => (b: Bench) => withUnit(b, 'receivers', 'wren-trainer', change)
const inModule = (change: object) => (b: Bench) => withUnit(b, 'modules', 'inner-tarn', change)
const inRadio = (change: object) => (b: Bench) => withUnit(b, 'radios', 'tarn', change)
const inCard = (change: object) => (b: Bench) => withUnit(b, 'cards', 'card-tarn', change)
const inCable = (change: object) => (b: Bench) => withUnit(b, 'cables', 'update-cable', change)
const inWiring =
  (change: object) =>
  (b: Bench): Bench => ({ ...b, wiring: { ...b.wiring, ...change } })
const crossed = [
  { from: 'positive', to: 'negative' },
  { from: 'negative', to: 'positive' },
  { from: 'signal', to: 'signal' },
]

/** For each rule: how it holds, how it is broken, and how it cannot be judged, where that can be. */
const CASES: Record<RuleId, { holds: Case; broken: Case; unknown?: Case }> = {
  'image-type': {
    holds: {},
    broken: { image: { typeId: 'tamsin-heron-8' } },
    unknown: { image: { typeId: 'unknown' } },
  },
  'image-hardware': {
    holds: {},
    broken: { image: { hardwareRevisions: ['Z'] } },
    unknown: { bench: inReceiver({ hardwareRevision: 'unknown' }) },
  },
  'image-size': { holds: {}, broken: { image: { sizeBytes: 512 * 1024 + 1 } } },
  'image-place': { holds: {}, broken: { image: { outsideBytes: 28 } } },
  'image-intact': {
    holds: {},
    broken: { image: { intact: false } },
    unknown: { image: { intact: 'unknown' } },
  },
  'image-label': { holds: {}, broken: { image: { label: 'differs' } } },
  'image-generation': {
    holds: {},
    broken: { image: { generation: 2 } },
    unknown: { image: { generation: 'unknown' } },
  },
  'image-band': {
    holds: {},
    broken: { image: { bands: ['868MHz'] } },
    unknown: { image: { bands: 'unknown' } },
  },
  'image-region': {
    holds: {},
    broken: { image: { region: 'hopping' } },
    unknown: { bench: inReceiver({ region: 'unknown' }) },
  },
  'image-order': {
    holds: {},
    broken: { image: { version: '2.0.9' } },
    unknown: { bench: inReceiver({ firmware: 'unknown' }) },
  },
  'conversion-by-cable': { holds: { route: 'cable' }, broken: { image: { convertsFrom: 2 } } },
  'wireless-image': {
    holds: {},
    broken: { image: { wirelessCapable: false } },
    unknown: { image: { wirelessCapable: 'unknown' } },
  },
  'wireless-type': {
    holds: {},
    broken: { bench: inType({ wirelessUpdate: false }) },
    unknown: { bench: inType({ wirelessUpdate: 'unknown' }) },
  },
  'first-by-cable': {
    holds: {},
    broken: { bench: inReceiver({ firmware: '1.9.9' }) },
    unknown: { bench: inReceiver({ firmware: 'unknown' }) },
  },
  'module-present': { holds: {}, broken: { bench: inRadio({ moduleIds: [] }) } },
  'module-on': { holds: {}, broken: { bench: inModule({ on: false }) } },
  'module-hardware': {
    holds: {},
    broken: { bench: inModuleType({ generations: [1, 2] }) },
    unknown: { bench: inModuleType({ generations: 'unknown' }) },
  },
  'module-generation': {
    holds: {},
    broken: { bench: inModule({ generation: 2 }) },
    unknown: { bench: inModule({ generation: 'unknown' }) },
  },
  'module-band': { holds: {}, broken: { bench: inModule({ band: '868MHz' }) } },
  'module-region': {
    holds: {},
    broken: { bench: inModule({ region: 'hopping' }) },
    unknown: { bench: inModule({ region: 'unknown' }) },
  },
  'module-wireless': {
    holds: {},
    broken: { bench: inModuleType({ wirelessUpdate: false }) },
    unknown: { bench: inModuleType({ wirelessUpdate: 'unknown' }) },
  },
  'module-firmware': {
    holds: {},
    broken: { bench: inModule({ firmware: '3.9.9' }) },
    unknown: { bench: inModule({ firmware: 'unknown' }) },
  },
  'radio-battery': {
    holds: {},
    broken: { bench: inRadio({ batteryVolts: 6.9 }) },
    unknown: {
      bench: inRadioType({ battery: { ...demo.catalogue.radioTypes[0].battery, updateMinVolts: 'unknown' } }),
    },
  },
  'radio-system': {
    holds: { image: { radioSystem: '>=3.0.0' } },
    broken: { image: { radioSystem: '>=3.2.0' } },
    unknown: { image: { radioSystem: '>=3.0.0' }, bench: inRadio({ systemVersion: 'unknown' }) },
  },
  'card-present': { holds: {}, broken: { bench: inCard({ readOnly: true }) } },
  'card-room': { holds: {}, broken: { bench: inCard({ freeBytes: 200_000 }) } },
  'supply-present': { holds: {}, broken: { route: 'cable', bench: inWiring({ cableId: 'signal-cable' }) } },
  'supply-range': {
    holds: { route: 'cable' },
    broken: { route: 'cable', bench: inType({ supply: { ...wren.supply, mostVolts: 4.5 } }) },
  },
  'supply-load': {
    holds: { route: 'cable' },
    broken: {
      bench: b => ({ ...b, supplies: b.supplies.map(p => ({ ...p, internalOhms: 50 })) }),
    },
  },
  'supply-polarity': {
    holds: { route: 'cable' },
    broken: { route: 'cable', bench: inCable({ wires: crossed }) },
  },
  'one-supply': {
    holds: { route: 'cable' },
    broken: { route: 'cable', bench: inWiring({ cableFeed: 'both' }) },
  },
  'cable-wires': {
    holds: { route: 'cable' },
    broken: { route: 'cable', bench: inCable({ wires: crossed.slice(0, 2) }) },
  },
  'near-enough': { holds: {}, broken: { bench: inWiring({ distanceMetres: 4000 }) } },
  'not-too-close': { holds: {}, broken: { bench: inWiring({ distanceMetres: 0.03 }) } },
  'stepping-stone': {
    holds: { image: { receiverFirmware: '>=2.0.0' } },
    broken: { image: { receiverFirmware: '>=2.2.0' } },
    unknown: { image: { receiverFirmware: '>=2.0.0' }, bench: inReceiver({ firmware: 'unknown' }) },
  },
  'image-signature': { holds: { image: { signature: 'good' } }, broken: { image: { signature: 'bad' } } },
  'image-signed': { holds: { image: { signature: 'good' } }, broken: { image: { signature: 'missing' } } },
  'after-module': {
    holds: {},
    broken: { image: { moduleFirmware: '>=5.3.0 <7.0.0' } },
    unknown: { bench: inModule({ firmware: 'unknown' }) },
  },
  'after-generation': {
    holds: { image: { generation: 2 } },
    broken: { image: { generation: 1 } },
    unknown: { image: { generation: 2 }, bench: inModuleType({ generations: 'unknown' }) },
  },
  'leaves-behind': {
    holds: {},
    broken: { image: { moduleFirmware: '>=7.0.0' } },
    unknown: { bench: inModule({ firmware: 'unknown' }) },
  },
}

const found = (s: Situation, id: RuleId) => findings(s).find(f => f.rule.id === id)

describe('the fit rules', () => {
  it('are all there, each once, each with a claim, a source and who stands by it', () => {
    expect(RULES.map(r => r.id).sort()).toEqual([...RULE_IDS].sort())
    for (const rule of RULES) {
      expect(rule.claim).toMatch(/\.$/)
      expect(rule.source.length).toBeGreaterThan(5)
      expect(ruleById(rule.id)).toBe(rule)
    }
  })

  for (const id of RULE_IDS) {
    const { holds, broken, unknown } = CASES[id]
    it(`${id}: holds, with a sentence and evidence`, () => {
      const finding = found(situation(holds), id)
      // A rule that is only about what does not arise here does not apply.
      if (finding === undefined) return expect(id).toBe('conversion-by-cable')
      expect(finding.holds).toBe('yes')
      expect(finding.sentence).toMatch(/\.$/)
      expect(finding.evidence.length).toBeGreaterThan(0)
    })

    it(`${id}: is broken, and says so with evidence`, () => {
      const finding = found(situation(broken), id)
      expect(finding?.holds).toBe('no')
      expect(finding?.sentence).toMatch(/\.$/)
      expect(finding?.evidence.length).toBeGreaterThan(0)
    })

    if (unknown)
      it(`${id}: is not known, and that is not fine`, () => {
        const finding = found(situation(unknown), id)
        expect(finding?.holds).toBe('unknown')
        expect(finding?.evidence.some(e => !e.known)).toBe(true)
      })

    it(`${id}: every remedy that changes the bench makes it hold`, () => {
      const s = situation(broken)
      for (const remedy of found(s, id)?.remedies ?? []) {
        if (remedy.otherImage || remedy.route) continue
        const after = situationOf(remedy.apply(s.bench), s.receiver.id, s.route, s.image)!
        expect(found(after, id)?.holds, remedy.label).toBe('yes')
      }
    })
  }

  it('card-present: a radio without a card gets one, a spare one where there is one', () => {
    const none = situation({ bench: inRadio({ cardId: undefined }) })
    const [remedy] = found(none, 'card-present')!.remedies
    expect(remedy.apply(none.bench).radios[0].cardId).toBe('card-tarn')
    const noSpare = { ...none.bench, cards: none.bench.cards.filter(c => c.id !== 'card-tarn') }
    const after = situationOf(remedy.apply(noSpare), 'wren-trainer', 'wireless', image)!
    expect(found(after, 'card-present')?.holds).toBe('yes')
  })

  it('name the device that would refuse first', () => {
    const off = situation({ bench: inModule({ on: false, generation: 2 }) })
    expect(firstBroken(off, 'radio')?.rule.id).toBe('module-on')
    expect(firstBroken(off, 'module')?.rule.id).toBe('module-generation')
    expect(firstBroken(off, 'receiver')).toBeUndefined()
    const notKnown = situation({ bench: inModule({ generation: 'unknown' }) })
    expect(firstBroken(notKnown, 'module')).toBeUndefined()
  })

  it('say nothing of the air when the cable is taken', () => {
    const byCable = checkFit(demo, 'wren-trainer', 'cable', image)!.map(f => f.rule.id)
    expect(byCable.filter(id => id.startsWith('module-') || id.startsWith('wireless-'))).toEqual([])
    expect(checkFit(demo, 'nobody', 'cable')).toBeUndefined()
  })

  it('order versions as Semantic Versioning 2.0.0, item 11, does', () => {
    const published = [
      ...['1.0.0-alpha', '1.0.0-alpha.1', '1.0.0-alpha.beta', '1.0.0-beta'],
      ...['1.0.0-beta.2', '1.0.0-beta.11', '1.0.0-rc.1', '1.0.0', '2.0.0', '2.1.0', '2.1.1'],
    ]
    for (let i = 0; i < published.length; i++)
      for (let k = 0; k < published.length; k++) {
        const s = situation({
          bench: inReceiver({ firmware: published[i] }),
          image: { version: published[k] },
        })
        expect(found(s, 'image-order')?.holds, `${published[k]} on ${published[i]}`).toBe(
          k > i ? 'yes' : 'no',
        )
      }
    const build = situation({ bench: inReceiver({ firmware: '1.0.0+a' }), image: { version: '1.0.0+b' } })
    expect(found(build, 'image-order')?.sentence).toContain('already')
  })
})
