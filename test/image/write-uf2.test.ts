import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { readUf2 } from '../../shared/image/uf2.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'

describe('writing UF2', () => {
  it('reads back what it wrote', () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ minLength: 1, maxLength: 3000 }),
        fc.nat(0x3fff_0000).map(n => 4 * n),
        fc.integer({ min: 1, max: 113 }).map(n => 4 * n),
        fc.option(fc.nat(0xffff_ffff), { nil: undefined }),
        fc.boolean(),
        (octets, address, payloadOctets, familyId, md5) => {
          const file = writeUf2([{ address, octets }], { payloadOctets, familyId, md5 })
          expect(file.length).toBe(512 * Math.ceil(octets.length / payloadOctets))
          const result = readUf2(file, 'x')
          expect(result.ok && result.value).toMatchObject({ familyId, segments: [{ address }] })
          expect(result.ok && result.value.segments).toEqual([{ address, octets }])
        },
      ),
    )
  })

  it('keeps separate pieces apart', () => {
    const segments = [0, 0x1000, 0x9000].map(address => ({ address, octets: new Uint8Array(300).fill(7) }))
    const result = readUf2(writeUf2(segments), 'x')
    expect(result.ok && result.value.segments).toEqual(segments)
  })

  it('refuses what does not fit', () => {
    const segment = { address: 0, octets: new Uint8Array(600) }
    for (const payloadOctets of [0, 3, 480, 2.5])
      expect(() => writeUf2([segment], { payloadOctets })).toThrow(RangeError)
    expect(() => writeUf2([segment], { payloadOctets: 456, md5: true })).toThrow(RangeError)
    expect(() => writeUf2([{ ...segment, address: 2 ** 32 - 8 }])).toThrow(RangeError)
    expect(() =>
      writeUf2([segment], { payloadOctets: 476, tags: [{ type: 1, octets: new Uint8Array(8) }] }),
    ).toThrow(RangeError)
  })
})
