import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { demoCatalogue } from '../../shared/demo/catalogue.ts'
import { linkEndsOf } from '../../shared/fit/link-ends.ts'
import { RULES } from '../../shared/fit/rules.ts'
import { benchRules } from '../../shared/fit/rules-bench.ts'
import { imageRules } from '../../shared/fit/rules-image.ts'
import { linkRules, pairingFor } from '../../shared/fit/rules-link.ts'
import { afterRules } from '../../shared/fit/rules-others.ts'
import { signatureRules } from '../../shared/fit/rules-signature.ts'
import { stepRules } from '../../shared/fit/rules-step.ts'
import { situationOf } from '../../shared/fit/situation.ts'
import { around, checkBench, MAX_BENCH_FILE_BYTES, readBench, writeBench } from '../../shared/model/bench.ts'
import { adapterUnitSchema, cableUnitSchema, wiringSchema } from '../../shared/model/gear.ts'
import { problemSchema } from '../../shared/model/problem-schema.ts'
import { isKnown } from '../../shared/model/units.ts'
import { allKeys, makeSheet, writeSheet } from '../../shared/sheet/make-sheet.ts'

const text = writeBench(demoBench())

describe('a bench file', () => {
  it('comes back as it was written', () => {
    const read = readBench(text, 'demo.json')
    expect(read.ok && read.value).toEqual(demoBench())
    expect(read.ok && writeBench(read.value)).toBe(text)
  })

  it('that is a type sheet is said to be one, and where it goes', () => {
    const { catalogue } = demoBench()
    const made = makeSheet(catalogue, allKeys(catalogue), { title: 'Types', date: '2026-11-25' })
    if (!made.ok) throw new Error(made.problems[0].message)
    const read = readBench(writeSheet(made.value), 'club.types.json')
    expect(read).toMatchObject({ ok: false, problems: [{ code: 'bench.is-a-sheet', field: 'format' }] })
  })

  const bad: [string, (t: string) => string, RegExp][] = [
    [
      'a field of the wrong kind',
      t => t.replace('"batteryVolts": 7.9', '"batteryVolts": "full"'),
      /^radios\[0\]\.batteryVolts$/,
    ],
    ['an unknown band', t => t.replace('"band": "2.4GHz"', '"band": "5GHz"'), /^modules\[0\]\.band$/],
    [
      'a version that is none',
      t => t.replace('"firmware": "2.1.0"', '"firmware": "new"'),
      /^receivers\[0\]\.firmware$/,
    ],
    [
      'a reference to nothing',
      t => t.replace('"cardId": "card-tarn"', '"cardId": "lost"'),
      /^radios\[0\]\.cardId$/,
    ],
    [
      'a port of a radio for a connector that is not there',
      t => t.replace(/("updatePort": \{\s*"connectorId": )"three-pin"/, '$1"lost"'),
      /^catalogue\.radioTypes\[0\]\.updatePort\.connectorId$/,
    ],
    [
      'more pages of flash than the bus can number',
      t =>
        t.replace(/"programBytes": 524288,\s*"pageBytes": 1024/, '"programBytes": 8388608, "pageBytes": 128'),
      /^catalogue\.receiverTypes\[0\]\.flash\.pageBytes$/,
    ],
    ['an id that stands twice', t => t.replace('"id": "fell"', '"id": "tarn"'), /^radios\[1\]\.id$/],
    ['another format', t => t.replace('"preflash-bench"', '"something"'), /^format$/],
    ['a newer format', t => t.replace('"formatVersion": 1', '"formatVersion": 2'), /^formatVersion$/],
  ]
  for (const [what, spoil, field] of bad)
    it(`with ${what} is refused, naming the field`, () => {
      const read = readBench(spoil(text), 'mine.json')
      if (read.ok) throw new Error('it was taken')
      expect(read.problems.map(p => p.field).some(f => field.test(f ?? ''))).toBe(true)
      for (const problem of read.problems) {
        expect(problem.file).toBe('mine.json')
        problemSchema.parse(problem)
      }
    })

  it('may have as many pages of flash as the bus can number: 65,535', () => {
    const most = text.replace(
      /"programBytes": 524288,\s*"pageBytes": 1024/,
      `"programBytes": ${65_535 * 128}, "pageBytes": 128`,
    )
    expect(most).not.toBe(text)
    expect(readBench(most, 'x.json').ok).toBe(true)
  })

  it('from before there were adapters opens, with none', () => {
    const { adapters, ...old } = JSON.parse(text)
    expect(adapters).toHaveLength(3)
    const read = readBench(JSON.stringify(old), 'old.json')
    expect(read.ok && read.value).toEqual({ ...demoBench(), adapters: [] })
  })

  it('that is no JSON names the line', () => {
    const read = readBench(text.replace('"name": "Marsh Lane club"', '"name" "Marsh Lane club"'), 'mine.json')
    expect(!read.ok && read.problems[0]).toMatchObject({ code: 'bench.not-json', line: 4 })
  })

  it('that is too large is refused before it is read', () => {
    const read = readBench(' '.repeat(MAX_BENCH_FILE_BYTES + 1), 'big.json')
    expect(!read.ok && read.problems[0].code).toBe('bench.too-large')
  })

  it('changed at random is a bench or a problem that says where, never a crash', () => {
    fc.assert(
      fc.property(fc.nat(text.length - 1), fc.nat(40), fc.string({ maxLength: 12 }), (at, cut, put) => {
        const read = readBench(text.slice(0, at) + put + text.slice(at + cut), 'x.json')
        if (read.ok) return
        for (const problem of read.problems) {
          expect(problem.message.length).toBeGreaterThan(3)
          expect(problem.line !== undefined || problem.field !== undefined).toBe(true)
        }
      }),
      { numRuns: 400 },
    )
  }, 30_000)

  it('of any JSON at all is refused without a crash', () => {
    fc.assert(
      fc.property(fc.jsonValue(), value => {
        expect(checkBench(value).ok).toBe(false)
      }),
    )
  })
})

describe('the demo bench', () => {
  const bench = demoBench()
  it('has what it is to have: radios, modules, types, generations, bands, models', () => {
    expect(bench.radios.length).toBeGreaterThanOrEqual(3)
    expect(new Set(bench.modules.map(m => `${m.typeId} ${m.firmware}`)).size).toBeGreaterThanOrEqual(3)
    expect(demoCatalogue.receiverTypes).toHaveLength(6)
    expect(new Set(bench.receivers.map(r => r.generation).filter(isKnown))).toEqual(new Set([1, 2, 3]))
    expect(new Set(demoCatalogue.receiverTypes.flatMap(t => t.bands)).size).toBeGreaterThanOrEqual(2)
    expect(bench.models).toHaveLength(14)
    expect(demoCatalogue.receiverTypes.some(t => t.conversions.length > 0)).toBe(true)
    expect(bench.receivers.some(r => r.factoryFresh)).toBe(true)
  })

  it('is a fresh copy each time', () => {
    demoBench().receivers.length = 0
    expect(demoBench().receivers.length).toBeGreaterThan(0)
  })

  it('knows what hangs together with a receiver', () => {
    const found = around(bench, 'curlew-survey')
    expect([found.radio?.id, found.module?.id, found.card?.id, found.model?.id, found.supply?.id]).toEqual([
      ...['tarn', 'reach-tarn', 'card-tarn', 'survey', 'regulator-6'],
    ])
    expect(around(bench, 'nobody').receiver).toBeUndefined()
    expect(around(bench, 'wren-trainer').sensors.map(s => s.id)).toEqual(['vario', 'current'])
  })

  it('finds the pairing for what a receiver runs, and both ends of its air', () => {
    const at = (id: string) => situationOf(bench, id, 'wireless', undefined)!
    expect(pairingFor(at('wren-new'))?.id).toBe('skein-3-first')
    expect(pairingFor(at('wren-trainer'))?.id).toBe('skein-3-current')
    expect(pairingFor(at('wren-unmarked'))).toBeUndefined()
    expect(linkEndsOf(at('curlew-survey'))).toMatchObject({ megahertz: 866.5, powerDbm: 14 })
    expect(linkEndsOf({ ...at('curlew-survey'), module: undefined })).toBeUndefined()
  })

  it('is judged by lists of rules that share none', () => {
    const lists = [benchRules, linkRules, imageRules, signatureRules, stepRules, afterRules]
    expect(new Set(lists.flat()).size).toBe(RULES.length)
    expect(lists.flat().length).toBe(RULES.length)
  })
})

describe('gear', () => {
  it('has bounds: no cable of no length, no distance of none', () => {
    const cable = demoBench().cables[0]
    expect(cableUnitSchema.safeParse({ ...cable, lengthMetres: 0 }).success).toBe(false)
    expect(cableUnitSchema.safeParse({ ...cable, wires: [{ from: 'signal', to: 'earth' }] }).success).toBe(
      false,
    )
    expect(wiringSchema.safeParse({ ...demoBench().wiring, distanceMetres: 0 }).success).toBe(false)
    const wire = { from: 1, to: 0, through: 'wire' }
    expect(cableUnitSchema.safeParse({ ...cable, pinWires: [wire] }).success).toBe(false)
    expect(cableUnitSchema.safeParse({ ...cable, pinWires: [{ ...wire, to: 16 }] }).success).toBe(true)
  })

  it('leaves open what nobody knows of an adapter, but not what its pins are', () => {
    const [adapter] = demoBench().adapters
    const open = { signalVolts: 'unknown', toleratesVolts: 'unknown', inverts: 'unknown', supply: 'unknown' }
    expect(adapterUnitSchema.safeParse({ ...adapter, ...open }).success).toBe(true)
    expect(adapterUnitSchema.safeParse({ ...adapter, pins: [] }).success).toBe(false)
    expect(adapterUnitSchema.safeParse({ ...adapter, signalVolts: 12 }).success).toBe(false)
  })
})
