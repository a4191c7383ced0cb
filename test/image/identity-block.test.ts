import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  ANY_REVISION,
  encodeIdentity,
  findIdentity,
  IDENTITY_BYTES,
  IDENTITY_OFFSET,
  type IdentityBlock,
  isIdentity,
  revisionBits,
  revisionFits,
} from '../../shared/image/identity-block.ts'
import { bandSchema } from '../../shared/model/units.ts'
import { bandBits } from '../../shared/procedure/bus.ts'
import { crc32 } from '../../shared/wire/checksum.ts'

const u16 = fc.nat(0xffff)
const u32 = fc.nat(0xffffffff)
const blocks: fc.Arbitrary<IdentityBlock> = fc
  .record({
    classId: fc.uuid({ version: 5 }),
    vendorId: fc.uuid({ version: 5 }),
    sequenceNumber: u32,
    version: fc.tuple(u16, u16, u16).map(parts => parts.join('.')),
    generation: fc.integer({ min: 1, max: 9 }),
    convertsFrom: fc.option(fc.integer({ min: 1, max: 9 }), { nil: undefined }),
    bands: fc.subarray([...bandSchema.options]),
    region: fc.constantFrom('any' as const, 'lbt' as const, 'hopping' as const, 'unknown' as const),
    hardwareRevisionBits: u16,
    wirelessCapable: fc.constantFrom(true, false, 'unknown' as const),
    imageLength: u32,
    programAddress: u32,
  })
  .map(({ convertsFrom, ...rest }) => (convertsFrom === undefined ? rest : { ...rest, convertsFrom }))

const [example] = fc.sample(blocks, { numRuns: 1, seed: 1 })

function inFlash(block: Uint8Array, flashBytes = 1024): Uint8Array {
  const flash = new Uint8Array(flashBytes).fill(0xff)
  flash.set(block.subarray(0, Math.max(0, flashBytes - IDENTITY_OFFSET)), IDENTITY_OFFSET)
  return flash
}
/** The example with some octets changed and its CRC-32 made right again. */
function changed(at: number, ...octets: number[]): Uint8Array {
  const block = encodeIdentity(example)
  block.set(octets, at)
  new DataView(block.buffer).setUint32(68, crc32(block, 0, 68))
  return inFlash(block)
}
const codeOf = (flash: Uint8Array) => {
  const found = findIdentity(flash)
  return found === undefined ? undefined : isIdentity(found) ? 'identity' : found.code
}

describe('the identity block', () => {
  it('comes back as it was written', () => {
    fc.assert(
      fc.property(blocks, block => {
        expect(findIdentity(inFlash(encodeIdentity(block)))).toEqual(block)
      }),
    )
  })

  it('lies where the layout says', () => {
    const octets = encodeIdentity({ ...example, sequenceNumber: 0x01020304, version: '1.2.3', generation: 3 })
    expect(octets).toHaveLength(IDENTITY_BYTES)
    expect(new TextDecoder().decode(octets.subarray(0, 4))).toBe('PFLI')
    expect([...octets.subarray(4, 8)]).toEqual([0, 1, 0, 72])
    expect([...octets.subarray(40, 51)]).toEqual([1, 2, 3, 4, 0, 1, 0, 2, 0, 3, 3])
    expect(new DataView(octets.buffer).getUint32(68)).toBe(crc32(octets.subarray(0, 68)))
  })

  it('has the bands in the bus’s order', () => {
    fc.assert(
      fc.property(fc.subarray([...bandSchema.options]), bands => {
        expect(encodeIdentity({ ...example, bands })[51]).toBe(bandBits(bands))
      }),
    )
  })

  it('any changed bit is noticed', () => {
    fc.assert(
      fc.property(blocks, fc.nat(IDENTITY_BYTES - 1), fc.nat(7), (block, at, bit) => {
        const octets = encodeIdentity(block)
        octets[at] ^= 1 << bit
        expect(codeOf(inFlash(octets))).not.toBe('identity')
      }),
    )
  })

  it('is not there in an image that was not made for it', () => {
    expect(codeOf(new Uint8Array(0))).toBeUndefined()
    expect(codeOf(new Uint8Array(1024))).toBeUndefined()
    expect(codeOf(inFlash(encodeIdentity(example), IDENTITY_OFFSET + 3))).toBeUndefined()
  })

  it.each([
    ['identity.cut-off', inFlash(encodeIdentity(example), IDENTITY_OFFSET + IDENTITY_BYTES - 1)],
    ['identity.version', changed(4, 0, 2)],
    ['identity.damaged', changed(6, 0, 80)],
    ['identity.field', changed(50, 0)],
    ['identity.field', changed(50, 10)],
    ['identity.field', changed(51, 8)],
    ['identity.field', changed(52, 3)],
    ['identity.field', changed(53, 3)],
    ['identity.field', changed(54, 10)],
    ['identity', changed(50, 9)],
  ])('%s', (code, flash) => expect(codeOf(flash)).toBe(code))

  it('takes only numbers that fit', () => {
    expect(() => encodeIdentity({ ...example, version: '1.2.65536' })).toThrow(RangeError)
    expect(() => encodeIdentity({ ...example, version: '1.2.3-beta' })).toThrow(RangeError)
    expect(() => encodeIdentity({ ...example, version: '1.2.3.4' })).toThrow(RangeError)
    expect(() => encodeIdentity({ ...example, sequenceNumber: 2 ** 32 })).toThrow(RangeError)
    expect(() => encodeIdentity({ ...example, classId: 'none' })).toThrow(RangeError)
  })
})

describe('hardware revisions', () => {
  it('as bits', () => {
    expect(revisionBits(['A', 'B'])).toBe(3)
    expect(revisionBits(['2'])).toBe(2)
    expect(revisionBits(['16', 'a'])).toBe(0x8001)
    expect(revisionBits('any')).toBe(ANY_REVISION)
    expect(revisionBits('unknown')).toBe(0)
    expect(revisionBits(['A', 'late ones'])).toBe(0)
    expect(revisionBits(['17'])).toBe(0)
    // All sixteen by name would read as any.
    expect(revisionBits(Array.from({ length: 16 }, (_, i) => String(i + 1)))).toBe(0)
  })

  it('fit, do not fit, or are not known', () => {
    expect(revisionFits(3, 'B')).toBe(true)
    expect(revisionFits(3, 'C')).toBe(false)
    expect(revisionFits(ANY_REVISION, 'unknown')).toBe(true)
    expect(revisionFits(3, 'unknown')).toBe('unknown')
    expect(revisionFits(3, 'late ones')).toBe('unknown')
    expect(revisionFits(0, 'A')).toBe('unknown')
  })
})
