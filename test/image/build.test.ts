import { createHash } from 'node:crypto'
import { crc32 as zlibCrc32 } from 'node:zlib'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { type BuildSpec, buildImage, readImageTables, SMALLEST_IMAGE } from '../../shared/image/build.ts'
import { findIdentity } from '../../shared/image/identity-block.ts'
import { imageCardSchema } from '../../shared/image/image-card.ts'
import { inspectSegments } from '../../shared/image/inspect.ts'
import { FIRST_SECTION } from '../../shared/image/program-layout.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { bandSchema } from '../../shared/model/units.ts'

const wren: BuildSpec = {
  typeId: 'aldwick-wren-6',
  typeName: 'Wren 6',
  vendorName: 'Aldwick',
  version: '2.4.0',
  sequenceNumber: 24,
  generation: 3,
  bands: ['2.4GHz'],
  region: 'lbt',
  hardwareRevisions: ['A', 'B'],
  wirelessCapable: true,
  programAddress: 0x08004000,
  sizeBytes: 64 * 1024,
  moduleFirmware: '>=4.0.0 <7.0.0',
  releaseNotes: 'Telemetry rate raised; failsafe is kept over an update.',
}
const octetsOf = (spec: BuildSpec) => buildImage(spec).segments[0].octets

const specs: fc.Arbitrary<BuildSpec> = fc.record({
  typeId: fc.constantFrom('aldwick-wren-6', 'tamsin-heron-8', 'x'),
  typeName: fc.constantFrom('Wren 6', 'Heron 8'),
  vendorName: fc.constantFrom('Aldwick', 'Tamsin'),
  version: fc.tuple(fc.nat(99), fc.nat(99), fc.nat(0xffff)).map(v => v.join('.')),
  sequenceNumber: fc.nat(0xffffffff),
  generation: fc.integer({ min: 1, max: 9 }),
  bands: fc.subarray([...bandSchema.options], { minLength: 1 }),
  region: fc.constantFrom('lbt' as const, 'hopping' as const, 'any' as const, 'unknown' as const),
  hardwareRevisions: fc.constantFrom(['A'], ['1', '2'], 'any' as const, 'unknown' as const),
  wirelessCapable: fc.constantFrom(true, false, 'unknown' as const),
  programAddress: fc.nat(0x0fffffff),
  sizeBytes: fc.oneof(fc.integer({ min: SMALLEST_IMAGE, max: 9000 }), fc.constant(70_001)),
  releaseNotes: fc.string({ unit: 'grapheme', maxLength: 2000 }),
})

describe('building', () => {
  it('gives an image of exactly the size asked for, whose own tables and sums hold', () => {
    fc.assert(
      fc.property(specs, spec => {
        const { segments, card } = buildImage(spec)
        const { address, octets } = segments[0]
        expect([segments.length, address, octets.length]).toEqual([1, spec.programAddress, spec.sizeBytes])
        const tables = readImageTables(octets)
        expect(tables).toMatchObject({ ok: true })
        if (!tables.ok) return
        expect(tables.value.hopTables.map(t => t.band)).toEqual(spec.bands)
        expect(tables.value.identity).toEqual(findIdentity(octets))
        expect(tables.value.identity.version).toBe(spec.version)
        expect(tables.value.failsafe[2]).toEqual({ mode: 'position', pulseMicros: 1000 })
        expect(imageCardSchema.safeParse(card).success).toBe(true)
        const view = new DataView(octets.buffer, octets.byteOffset)
        expect(view.getUint32(octets.length - 4)).toBe(zlibCrc32(octets.subarray(0, -4)))
      }),
      { numRuns: 60 },
    )
  })

  it('the card says what the image is', () => {
    const { segments, card } = buildImage(wren)
    const octets = segments[0].octets
    expect(card.sha256).toBe(createHash('sha256').update(octets).digest('hex'))
    expect(card.crc32).toBe(zlibCrc32(octets))
    const inspected = inspectSegments(segments, { format: 'raw', fileName: 'x', fileBytes: octets.length })
    expect(inspected).toMatchObject({
      ok: true,
      value: {
        sha256: card.sha256,
        crc32: card.crc32,
        payloadBytes: card.sizeBytes,
        lowestAddress: card.programAddress,
        embedded: { classId: card.classId, vendorId: card.vendorId, version: '2.4.0', imageLength: 65_536 },
        problems: [],
      },
    })
  })

  it('is the same each time, and another for another type, version, generation or band', () => {
    const digests = [
      wren,
      { ...wren, typeId: 'tamsin-heron-8' },
      { ...wren, version: '2.4.1' },
      { ...wren, version: '2.5.0' },
      { ...wren, generation: 2 },
      { ...wren, bands: ['868MHz'] },
    ].map(spec => buildImage(spec as BuildSpec).card.sha256)
    expect(new Set(digests).size).toBe(digests.length)
    expect(buildImage(structuredClone(wren)).card).toEqual(buildImage(wren).card)
  })

  it('two versions differ in their code, not only in their label', () => {
    const [a, b] = [octetsOf(wren), octetsOf({ ...wren, version: '2.3.0' })]
    let differing = 0
    for (let i = 0x1000; i < a.length; i++) if (a[i] !== b[i]) differing++
    expect(differing).toBeGreaterThan(a.length / 10)
  })

  it('is program-like: vectors point into the code, and there is no long run of one octet', () => {
    const octets = octetsOf(wren)
    const view = new DataView(octets.buffer, octets.byteOffset)
    for (let n = 1; n < 64; n++) {
      const target = view.getUint32(4 * n) - wren.programAddress
      expect(target).toBeGreaterThanOrEqual(FIRST_SECTION)
      expect(target).toBeLessThan(octets.length)
    }
    let run = 0
    for (let i = 0x2000; i < octets.length; i++) {
      run = octets[i] === octets[i - 1] ? run + 1 : 0
      expect(run).toBeLessThan(16)
    }
  })

  it.each(['2.4.0', '12.4.0'])(
    '%s: release notes too long for the image are cut between characters',
    version => {
      const tables = readImageTables(
        octetsOf({ ...wren, version, sizeBytes: SMALLEST_IMAGE, releaseNotes: '°'.repeat(2000) }),
      )
      expect(tables.ok && tables.value.notes).toMatch(/^Aldwick Wren 6 \d+\.4\.0\n°{100,}$/)
    },
  )

  it('every image of the demo can be built and read', () => {
    const bench = demoBench()
    for (const image of bench.images) {
      const type = bench.catalogue.receiverTypes.find(t => t.id === image.typeId)
      expect(type).toBeDefined()
      const { segments, card } = buildImage({
        ...image,
        typeName: type?.name ?? '',
        vendorName: type?.maker ?? '',
        programAddress: type?.flash.programAddress ?? 0,
      })
      const tables = readImageTables(segments[0].octets)
      expect(tables.ok && tables.value.notes).toContain(image.releaseNotes)
      expect([card.typeId, card.version, card.convertsFrom]).toEqual([
        image.typeId,
        image.version,
        image.convertsFrom,
      ])
    }
  })

  it.each([
    ['build.size', { sizeBytes: SMALLEST_IMAGE - 1 }],
    ['build.size', { sizeBytes: 9 * 1024 * 1024 }],
    ['build.version', { version: '2.4' }],
    ['build.version', { version: '2.4.65536' }],
    ['build.address', { programAddress: 0xffff_ff00 }],
  ])('%s for %j', (code, change) => {
    try {
      buildImage({ ...wren, ...change })
      expect.unreachable()
    } catch (error) {
      expect(error).toBeInstanceOf(ProblemError)
      expect((error as ProblemError).problem.code).toBe(code)
    }
  })
})
