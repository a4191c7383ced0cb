import { describe, expect, it } from 'vitest'
import { CATALOGUE, type CrcCatalogueName, checkOf, crcOf } from '../../shared/dialect/checksums.ts'

/**
 * Published check values over the nine ASCII characters 123456789: the project's reference values, section 1
 * (computed there with crcmod 1.7, zlib, binascii and SRecord). The last five: the public catalogue of parametrised
 * CRC algorithms; OPENPGP is the CRC-24 of RFC 4880 section 6.1, ISCSI that of RFC 3720 section 12.1.
 */
const nine = new TextEncoder().encode('123456789')
const published: Readonly<Record<CrcCatalogueName, number>> = {
  'CRC-16/XMODEM': 0x31c3,
  'CRC-16/IBM-SDLC': 0x906e,
  'CRC-16/MODBUS': 0x4b37,
  'CRC-16/IBM-3740': 0x29b1,
  'CRC-16/KERMIT': 0x2189,
  'CRC-32/ISO-HDLC': 0xcbf43926,
  'CRC-32/MPEG-2': 0x0376e6e7,
  'CRC-8/SMBUS': 0xf4,
  'CRC-8/DVB-S2': 0xbc,
  'CRC-8/MAXIM-DOW': 0xa1,
  'CRC-16/ARC': 0xbb3d,
  'CRC-24/OPENPGP': 0x21cf02,
  'CRC-32/ISCSI': 0xe3069283,
  'CRC-32/BZIP2': 0xfc891918,
}

describe('the catalogue', () => {
  it.each(Object.entries(published))('%s', (name, check) => {
    const of = crcOf(CATALOGUE[name as CrcCatalogueName])
    expect(of(nine)).toBe(check)
    expect(checkOf({ kind: 'named', name: name as CrcCatalogueName, order: 'big' }).of(nine)).toBe(check)
  })

  it('is all of it held against published values', () => {
    expect(Object.keys(published).sort()).toEqual(Object.keys(CATALOGUE).sort())
  })
})

/** Bit by bit, as a CRC is defined: the other implementation that the tables are held against. */
function bitwise(
  spec: (typeof CATALOGUE)[CrcCatalogueName] | Parameters<typeof crcOf>[0],
  octets: Uint8Array,
) {
  const { width } = spec
  const mask = (1n << BigInt(width)) - 1n
  const mirrored = (value: bigint, bits: number) =>
    BigInt(`0b${value.toString(2).padStart(bits, '0').split('').reverse().join('')}`)
  let register = BigInt(spec.init)
  for (const octet of octets) {
    const entering = spec.refIn ? mirrored(BigInt(octet), 8) : BigInt(octet)
    for (let bit = 7n; bit >= 0n; bit--) {
      const top = (register >> BigInt(width - 1)) & 1n
      register = (register << 1n) & mask
      if ((top ^ ((entering >> bit) & 1n)) === 1n) register ^= BigInt(spec.poly)
    }
  }
  return Number((spec.refOut ? mirrored(register, width) : register) ^ BigInt(spec.xorOut))
}

describe('own parameters of any width', () => {
  const widths = Array.from({ length: 25 }, (_, i) => i + 8)
  it.each(widths)('width %i agrees with the definition', width => {
    const most = 2 ** width - 1
    const octets = Uint8Array.from({ length: 300 }, (_, i) => (i * 7 + 3) & 0xff)
    for (const refIn of [false, true])
      for (const refOut of [false, true]) {
        const spec = { width, poly: (0x9b % most) | 1, init: most, refIn, refOut, xorOut: most >>> 1 }
        expect(crcOf(spec)(octets)).toBe(bitwise(spec, octets))
        expect(crcOf(spec)(octets, 10, 20)).toBe(bitwise(spec, octets.subarray(10, 20)))
      }
  })

  it('gives the published check of CRC-12/UMTS (width 12, refOut alone) and CRC-31/PHILIPS', () => {
    expect(crcOf({ width: 12, poly: 0x80f, init: 0, refIn: false, refOut: true, xorOut: 0 })(nine)).toBe(
      0xdaf,
    )
    const philips = { width: 31, poly: 0x04c11db7, init: 0x7fffffff, refIn: false, refOut: false }
    expect(crcOf({ ...philips, xorOut: 0x7fffffff })(nine)).toBe(0x0ce9e46c)
  })

  it('refuses what does not fit', () => {
    const spec = { width: 12, poly: 0x80f, init: 0, refIn: false, refOut: false, xorOut: 0 }
    expect(() => crcOf({ ...spec, poly: 0x1000 })).toThrow(RangeError)
    expect(() => crcOf({ ...spec, width: 7 })).toThrow(RangeError)
    expect(() => crcOf({ ...spec, width: 33 })).toThrow(RangeError)
  })
})

describe('sums', () => {
  it('sum of 8 bits: DD over the nine characters (reference values, section 1)', () => {
    expect(checkOf({ kind: 'sum', width: 8, complement: 'none', order: 'big' }).of(nine)).toBe(0xdd)
  })

  it('complements: with the sum they come to FF and to 0', () => {
    expect(checkOf({ kind: 'sum', width: 8, complement: 'ones', order: 'big' }).of(nine)).toBe(0xff - 0xdd)
    expect(checkOf({ kind: 'sum', width: 8, complement: 'twos', order: 'big' }).of(nine)).toBe(0x100 - 0xdd)
    expect(checkOf({ kind: 'sum', width: 16, complement: 'none', order: 'big' }).of(nine)).toBe(0x1dd)
  })

  it('exclusive-or: the data checksums of ST AN3155 (reference values, section 4)', () => {
    const xor = checkOf({ kind: 'xor', init: 0, complement: false })
    expect(xor.of(Uint8Array.of(3, 0xde, 0xad, 0xbe, 0xef))).toBe(0x21)
    expect(xor.of(Uint8Array.of(0x08, 0x01, 0xfc, 0x00))).toBe(0xf5)
    expect(checkOf({ kind: 'xor', init: 0, complement: true }).of(Uint8Array.of(0x11))).toBe(0xee)
  })
})
