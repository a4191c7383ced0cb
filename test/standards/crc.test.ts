import { crc32 as zlibCrc32 } from 'node:zlib'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  CRC_CATALOGUE,
  type CrcParameters,
  crc,
  crc32,
  FCS16_GOOD,
  FCS16_INIT,
  fcs16,
  fcs16Update,
  sum8,
} from '../../shared/wire/checksum.ts'

/**
 * Check values: the public catalogue of parametrised CRC algorithms, as collected in the project's reference values,
 * section 1, where they were computed with crcmod 1.7, Python's zlib and binascii, and SRecord 1.64.
 */
const nine = new TextEncoder().encode('123456789')

describe('check values over the nine characters 123456789', () => {
  it.each([
    ['xmodem', 0x31c3],
    ['ibmSdlc', 0x906e],
    ['modbus', 0x4b37],
    ['ibm3740', 0x29b1],
    ['kermit', 0x2189],
    ['isoHdlc', 0xcbf43926],
    ['mpeg2', 0x0376e6e7],
    ['smbus', 0xf4],
    ['dvbS2', 0xbc],
  ] as const)('%s', (name, check) => {
    expect(crc(CRC_CATALOGUE[name]).of(nine)).toBe(check)
    expect(CRC_CATALOGUE[name].check).toBe(check)
  })

  it('the dedicated functions', () => {
    expect(fcs16(nine)).toBe(0x906e)
    expect(crc32(nine)).toBe(0xcbf43926)
    expect(sum8(nine)).toBe(0xdd)
  })
})

describe('more cases of reference values, section 1', () => {
  it.each([
    ['empty', 0, 0x00, 0x0000, 0x0000, 0x00000000],
    ['1 × 00', 1, 0x00, 0x0000, 0xf078, 0xd202ef8d],
    ['1 × FF', 1, 0xff, 0x1ef0, 0xff00, 0xff000000],
    ['4 × 00', 4, 0x00, 0x0000, 0xfcde, 0x2144df1c],
    ['4 × FF', 4, 0xff, 0x99cf, 0x0f47, 0xffffffff],
    ['128 × 00', 128, 0x00, 0x0000, 0xaff0, 0xc2a8fa9d],
    ['128 × FF', 128, 0xff, 0xeda9, 0x3a47, 0x652d544c],
    ['1024 × 00', 1024, 0x00, 0x0000, 0x0912, 0xefb5af2e],
    ['1024 × FF', 1024, 0xff, 0xc084, 0x2811, 0xb83afff4],
  ])('%s', (_title, count, octet, xmodem, sdlc, iso) => {
    const octets = new Uint8Array(count).fill(octet)
    expect(crc(CRC_CATALOGUE.xmodem).of(octets)).toBe(xmodem)
    expect(fcs16(octets)).toBe(sdlc)
    expect(crc(CRC_CATALOGUE.ibmSdlc).of(octets)).toBe(sdlc)
    expect(crc32(octets)).toBe(iso)
    expect(crc(CRC_CATALOGUE.isoHdlc).of(octets)).toBe(iso)
  })

  it('MPEG-2 over eight characters, in file order', () => {
    expect(crc(CRC_CATALOGUE.mpeg2).of(nine.subarray(0, 8))).toBe(0x49e3c2fb)
  })
})

describe('what the register holds after a message and its own checksum (reference values, section 1)', () => {
  it.each([
    ['xmodem', 0x0000],
    ['ibmSdlc', 0xf0b8],
    ['modbus', 0x0000],
    ['isoHdlc', 0xdebb20e3],
    ['smbus', 0],
    ['dvbS2', 0],
    ['mpeg2', 0],
  ] as const)('%s', (name, residue) => {
    const engine = crc(CRC_CATALOGUE[name])
    const { width, refin } = engine.parameters
    const octets = [...nine]
    const value = engine.of(nine)
    for (let bit = 0; bit < width; bit += 8) octets.push((value >>> (refin ? bit : width - 8 - bit)) & 0xff)
    expect(engine.update(engine.start, Uint8Array.from(octets))).toBe(residue)
  })

  it('FCS-16 of RFC 1662, appendix C.2: good final value F0B8', () => {
    const fcs = fcs16(nine)
    expect(FCS16_GOOD).toBe(0xf0b8)
    expect(fcs16Update(FCS16_INIT, Uint8Array.from([...nine, fcs & 0xff, fcs >> 8]), 0, 11)).toBe(FCS16_GOOD)
  })
})

describe('against independent routines', () => {
  it('CRC-32 agrees with zlib over any range of any octets', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 600 }), fc.nat(600), fc.nat(600), (octets, a, b) => {
        const from = Math.min(a, b, octets.length)
        const to = Math.min(Math.max(a, b), octets.length)
        expect(crc32(octets, from, to)).toBe(zlibCrc32(octets.subarray(from, to)))
      }),
    )
  })

  it('every catalogue entry agrees with division one bit at a time', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...Object.values(CRC_CATALOGUE)),
        fc.uint8Array({ maxLength: 64 }),
        (parameters, octets) => {
          expect(crc(parameters).of(octets)).toBe(bitwise(parameters, octets))
        },
      ),
    )
  })

  it('so do parameters of one’s own, with refin and refout apart', () => {
    const u = (width: number) => fc.nat(2 ** width - 1)
    const parameters = fc.constantFrom(8 as const, 16 as const, 32 as const).chain(width =>
      fc.record({
        name: fc.constant('own'),
        width: fc.constant(width),
        poly: u(width),
        init: u(width),
        refin: fc.boolean(),
        refout: fc.boolean(),
        xorout: u(width),
        check: fc.constant(0),
      }),
    )
    fc.assert(
      fc.property(parameters, fc.uint8Array({ maxLength: 40 }), (p, octets) => {
        expect(crc(p).of(octets)).toBe(bitwise(p, octets))
      }),
    )
  })
})

/** The definition itself with big integers: shift the message through, bit by bit. Shares nothing with the engine. */
function bitwise(p: CrcParameters, octets: Uint8Array): number {
  const width = BigInt(p.width)
  const mask = (1n << width) - 1n
  let register = BigInt(p.init)
  for (const octet of octets)
    for (let i = 0; i < 8; i++) {
      const bit = BigInt((octet >> (p.refin ? i : 7 - i)) & 1)
      const top = (register >> (width - 1n)) & 1n
      register = (register << 1n) & mask
      if (top !== bit) register ^= BigInt(p.poly)
    }
  if (p.refout)
    register = BigInt(`0b${register.toString(2).padStart(p.width, '0').split('').reverse().join('')}`)
  return Number(register ^ BigInt(p.xorout))
}
