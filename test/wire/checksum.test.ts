import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  CRC_CATALOGUE,
  CRC32_INIT,
  crc,
  crc32,
  crc32Finish,
  crc32Update,
  FCS16_INIT,
  fcs16,
  fcs16Octet,
  fcs16Update,
  sum8,
} from '../../shared/wire/checksum.ts'

const octetsAndCut = fc
  .uint8Array({ maxLength: 300 })
  .chain(octets => fc.tuple(fc.constant(octets), fc.nat(octets.length)))

describe('checksums in pieces', () => {
  it('a cut anywhere changes nothing', () => {
    fc.assert(
      fc.property(octetsAndCut, ([octets, cut]) => {
        const half = crc32Update(CRC32_INIT, octets, 0, cut)
        expect(crc32Finish(crc32Update(half, octets, cut))).toBe(crc32(octets))
        const first = fcs16Update(FCS16_INIT, octets, 0, cut)
        expect(fcs16Update(first, octets, cut, octets.length) ^ 0xffff).toBe(fcs16(octets))
        for (const parameters of Object.values(CRC_CATALOGUE)) {
          const engine = crc(parameters)
          const register = engine.update(engine.start, octets, 0, cut)
          expect(engine.finish(engine.update(register, octets, cut))).toBe(engine.of(octets))
        }
        expect((sum8(octets, 0, cut) + sum8(octets, cut)) & 0xff).toBe(sum8(octets))
      }),
    )
  })

  it('one octet at a time agrees with a run', () => {
    fc.assert(
      fc.property(fc.uint8Array(), octets => {
        expect(octets.reduce(fcs16Octet, FCS16_INIT) ^ 0xffff).toBe(fcs16(octets))
      }),
    )
  })

  it('the fast functions agree with the general engine', () => {
    fc.assert(
      fc.property(octetsAndCut, ([octets, cut]) => {
        expect(crc32(octets, cut)).toBe(crc(CRC_CATALOGUE.isoHdlc).of(octets, cut))
        expect(fcs16(octets, cut)).toBe(crc(CRC_CATALOGUE.ibmSdlc).of(octets, cut))
      }),
    )
  })

  it('any one changed bit changes the sum', () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ minLength: 1, maxLength: 64 }),
        fc.nat(),
        fc.nat(7),
        (octets, place, bit) => {
          const other = octets.slice()
          other[place % octets.length] ^= 1 << bit
          expect(crc32(other)).not.toBe(crc32(octets))
          expect(fcs16(other)).not.toBe(fcs16(octets))
        },
      ),
    )
  })
})

describe('parameters that make no sense are refused', () => {
  it('width and values', () => {
    expect(() => crc({ ...CRC_CATALOGUE.smbus, poly: 0x107 })).toThrow(RangeError)
    expect(() => crc({ ...CRC_CATALOGUE.smbus, width: 12 as 8 })).toThrow(RangeError)
  })
})
