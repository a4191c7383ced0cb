import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { buildImage } from '../../shared/image/build.ts'
import {
  encodeIdentity,
  findIdentity,
  IDENTITY_OFFSET,
  isIdentity,
} from '../../shared/image/identity-block.ts'
import { DIRECTORY_OFFSET, encodeDirectory, readImageTables } from '../../shared/image/program-layout.ts'
import { crc32 } from '../../shared/wire/checksum.ts'

const built = buildImage({
  typeId: 'tamsin-curlew-12',
  typeName: 'Curlew 12',
  vendorName: 'Tamsin',
  version: '2.2.0',
  sequenceNumber: 22,
  generation: 3,
  bands: ['868MHz', '915MHz'],
  region: 'any',
  hardwareRevisions: ['1'],
  wirelessCapable: true,
  programAddress: 0x08004000,
  sizeBytes: 16 * 1024,
  releaseNotes: 'Twelve outputs at full rate.',
}).segments[0].octets

const says = (flash: Uint8Array) => {
  const result = readImageTables(flash)
  return result.ok ? 'ok' : result.problems[0].code
}
/** The image with a change and its final checksum made right again. */
function mended(change: (octets: Uint8Array) => void): Uint8Array {
  const octets = built.slice()
  change(octets)
  new DataView(octets.buffer).setUint32(octets.length - 4, crc32(octets, 0, octets.length - 4))
  return octets
}

describe('starting an image', () => {
  it('reads every table, also from flash that is longer than the image', () => {
    const flash = new Uint8Array(32 * 1024).fill(0xff)
    flash.set(built)
    const result = readImageTables(flash)
    expect(result).toMatchObject({ ok: true })
    if (!result.ok) return
    const { hopTables, outputs, failsafe, telemetry, notes, sections } = result.value
    expect(hopTables.map(t => [t.band, t.sequence.length])).toEqual([
      ['868MHz', 15],
      ['915MHz', 50],
    ])
    expect([outputs.length, failsafe.length, telemetry.length]).toEqual([16, 16, 7])
    expect(telemetry.find(t => t.unit === '°C')).toMatchObject({
      label: 'Controller temperature',
      exponent: -1,
    })
    expect(notes).toBe('Tamsin Curlew 12 2.2.0\nTwelve outputs at full rate.\n')
    expect(sections.map(s => s.tag)).toEqual(['OUTS', 'HOPS', 'SAFE', 'TELE', 'SINE', 'EXPO', 'NOTE', 'CODE'])
  })

  it('any one changed bit keeps it from starting', () => {
    fc.assert(
      fc.property(fc.nat(built.length - 1), fc.nat(7), (at, bit) => {
        const octets = built.slice()
        octets[at] ^= 1 << bit
        expect(says(octets)).not.toBe('ok')
      }),
    )
  })

  it.each([
    ['tables.no-identity', new Uint8Array(4096)],
    ['tables.length', built.subarray(0, built.length - 1)],
    ['identity.damaged', mended(o => (o[IDENTITY_OFFSET + 10] ^= 1))],
    ['tables.directory', mended(o => (o[DIRECTORY_OFFSET] = 0))],
    ['tables.directory', mended(o => (o[DIRECTORY_OFFSET + 5] = 2))],
    ['tables.directory', mended(o => (o[DIRECTORY_OFFSET + 7] = 200))],
    ['tables.directory', mended(o => (o[DIRECTORY_OFFSET + 8 + 8] = 0xff))],
    ['tables.section', mended(o => (o[DIRECTORY_OFFSET + 8 + 15] ^= 1))],
    ['tables.section', mended(o => (o[DIRECTORY_OFFSET + 8] = 0x58))],
  ])('%s', (code, flash) => expect(says(flash)).toBe(code))

  it('never trusts the length in the identity block', () => {
    const identity = findIdentity(built)
    if (!isIdentity(identity)) throw new Error('no identity')
    for (const imageLength of [0, 3, 0x300, 0xffffffff]) {
      const octets = built.slice()
      octets.set(encodeIdentity({ ...identity, imageLength }), IDENTITY_OFFSET)
      expect(says(octets)).toBe('tables.length')
    }
  })

  it('any directory at all is answered without an exception', () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 248, maxLength: 248 }), noise => {
        const octets = mended(o => o.set(noise, DIRECTORY_OFFSET + 8))
        expect(['ok', 'tables.directory', 'tables.section']).toContain(says(octets))
      }),
    )
  })
})

describe('the directory', () => {
  it('has room for fifteen sections with names of four letters', () => {
    const entry = { tag: 'CODE', offset: 0x300, length: 1, crc32: 0 }
    expect(DIRECTORY_OFFSET + encodeDirectory(Array(15).fill(entry)).length).toBeLessThanOrEqual(
      IDENTITY_OFFSET,
    )
    expect(() => encodeDirectory(Array(16).fill(entry))).toThrow(RangeError)
    expect(() => encodeDirectory([{ ...entry, tag: 'long one' }])).toThrow(RangeError)
  })
})
