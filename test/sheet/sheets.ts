import fc from 'fast-check'
import { demoBench } from '../../shared/demo/bench.ts'
import { type Bench, benchSchema } from '../../shared/model/bench.ts'
import { type Catalogue, catalogueSchema, pinRoleSchema } from '../../shared/model/catalogue.ts'
import { allKeys, makeSheet } from '../../shared/sheet/make-sheet.ts'
import type { TypeSheet } from '../../shared/sheet/type-sheet.ts'

/** Benches and sheets that the tests of this folder share. */

export const HEAD = { title: 'Club types', author: 'A. Marsh', date: '2026-11-25' }

export function sheetOf(catalogue: Catalogue): TypeSheet {
  const made = makeSheet(catalogue, allKeys(catalogue), HEAD)
  if (!made.ok) throw new Error(made.problems[0].message)
  return made.value
}

export function emptyBench(): Bench {
  return benchSchema.parse({
    format: 'preflash-bench',
    formatVersion: 1,
    name: 'Empty',
    catalogue: { radioTypes: [], moduleTypes: [], receiverTypes: [], connectors: [], pairings: [] },
    radios: [],
    modules: [],
    receivers: [],
    supplies: [],
    cables: [],
    adapters: [],
    cards: [],
    sensors: [],
    models: [],
    images: [],
    wiring: { cableFeed: 'through-cable', distanceMetres: 1 },
  })
}

const label = fc.string({ minLength: 1, maxLength: 40 }).map(text => text.trim() || 'x')
const known = <T>(value: fc.Arbitrary<T>) => fc.oneof(value, fc.constant('unknown' as const))
const version = fc.tuple(fc.nat(9), fc.nat(20), fc.nat(20)).map(parts => parts.join('.'))
const source = fc.option(
  fc.record(
    { text: fc.string({ minLength: 1, maxLength: 200 }), date: fc.constantFrom('2020-02-29', '2026-11-25') },
    { requiredKeys: ['text'] },
  ),
  { nil: undefined },
)
const bands = fc.uniqueArray(fc.constantFrom('2.4GHz' as const, '868MHz' as const, '915MHz' as const), {
  minLength: 1,
})
const [aReceiver] = demoBench().catalogue.receiverTypes
const [aModule] = demoBench().catalogue.moduleTypes
const [aRadio] = demoBench().catalogue.radioTypes

/** Catalogues whose entries differ in what people fill in, and whose names all differ. */
export const catalogues: fc.Arbitrary<Catalogue> = fc
  .record({
    connectors: fc.array(
      fc.record({
        pins: fc.array(
          fc.record({
            name: label,
            role: fc.constantFrom(...pinRoleSchema.options),
          }),
          { minLength: 1, maxLength: 16 },
        ),
        keyed: known(fc.boolean()),
        source,
      }),
      { minLength: 1, maxLength: 4 },
    ),
    receiverTypes: fc.array(
      fc.record({
        bands,
        nativeGeneration: known(fc.integer({ min: 1, max: 9 })),
        hardwareRevisions: fc.array(label, { maxLength: 3 }),
        wirelessUpdate: known(fc.boolean()),
        wirelessFrom: fc.option(known(version), { nil: undefined }),
        channels: fc.integer({ min: 1, max: 64 }),
        source,
        note: fc.option(fc.string({ maxLength: 80 }), { nil: undefined }),
      }),
      { maxLength: 5 },
    ),
    moduleTypes: fc.array(
      fc.record({
        bands,
        generations: known(fc.constant([2, 3])),
        source,
        powerDbm: fc.integer({ min: -20, max: 30 }),
      }),
      { maxLength: 3 },
    ),
    radioTypes: fc.array(fc.record({ portKnown: fc.boolean(), source }), { maxLength: 3 }),
    pairings: fc.array(fc.record({ receiverFirmware: version, moduleFirmware: version, source }), {
      maxLength: 3,
    }),
  })
  .map(made => {
    const connectors = made.connectors.map((c, i) => ({ ...c, id: `plug-${i}`, name: `Plug ${i}` }))
    const plug = (i: number) => connectors[i % connectors.length].id
    return catalogueSchema.parse({
      connectors,
      receiverTypes: made.receiverTypes.map((t, i) => ({
        ...aReceiver,
        ...t,
        id: `receiver-${i}`,
        name: `Receiver ${i}`,
        connectorId: plug(i),
      })),
      moduleTypes: made.moduleTypes.map((t, i) => ({
        ...aModule,
        ...t,
        id: `module-${i}`,
        name: `Module ${i}`,
      })),
      radioTypes: made.radioTypes.map(({ portKnown, ...t }, i) => ({
        ...aRadio,
        ...t,
        id: `radio-${i}`,
        name: `Radio ${i}`,
        updatePort:
          portKnown && aRadio.updatePort !== 'unknown'
            ? { ...aRadio.updatePort, connectorId: plug(i) }
            : 'unknown',
      })),
      pairings: made.pairings.map((p, i) => ({ ...p, id: `pair-${i}`, family: 'Skein', generation: i + 1 })),
    })
  })
