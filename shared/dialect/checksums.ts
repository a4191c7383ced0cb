import { CRC_CATALOGUE, crc } from '../wire/checksum.ts'
import type { CheckSpec } from './schema.ts'

/** Checks of every kind that a dialect file can name, from a CRC of any width to a plain sum. */

export interface CrcSpec {
  /** Bits, 8 to 32. */
  readonly width: number
  readonly poly: number
  readonly init: number
  readonly refIn: boolean
  readonly refOut: boolean
  readonly xorOut: number
}

/**
 * The public catalogue of parametrised CRC algorithms, those that boot loaders are commonly found with.
 * Check values: test/standards/dialect-checks.test.ts.
 */
export const CATALOGUE = {
  'CRC-16/XMODEM': of(CRC_CATALOGUE.xmodem),
  'CRC-16/IBM-SDLC': of(CRC_CATALOGUE.ibmSdlc),
  'CRC-16/MODBUS': of(CRC_CATALOGUE.modbus),
  'CRC-16/IBM-3740': of(CRC_CATALOGUE.ibm3740),
  'CRC-16/KERMIT': of(CRC_CATALOGUE.kermit),
  'CRC-32/ISO-HDLC': of(CRC_CATALOGUE.isoHdlc),
  'CRC-32/MPEG-2': of(CRC_CATALOGUE.mpeg2),
  'CRC-8/SMBUS': of(CRC_CATALOGUE.smbus),
  'CRC-8/DVB-S2': of(CRC_CATALOGUE.dvbS2),
  'CRC-8/MAXIM-DOW': { width: 8, poly: 0x31, init: 0, refIn: true, refOut: true, xorOut: 0 },
  'CRC-16/ARC': { width: 16, poly: 0x8005, init: 0, refIn: true, refOut: true, xorOut: 0 },
  'CRC-24/OPENPGP': { width: 24, poly: 0x864cfb, init: 0xb704ce, refIn: false, refOut: false, xorOut: 0 },
  'CRC-32/ISCSI': {
    width: 32,
    poly: 0x1edc6f41,
    init: 0xffffffff,
    refIn: true,
    refOut: true,
    xorOut: 0xffffffff,
  },
  'CRC-32/BZIP2': {
    width: 32,
    poly: 0x04c11db7,
    init: 0xffffffff,
    refIn: false,
    refOut: false,
    xorOut: 0xffffffff,
  },
} as const satisfies Readonly<Record<string, CrcSpec>>
export type CrcCatalogueName = keyof typeof CATALOGUE
export const CRC_NAMES = Object.keys(CATALOGUE) as [CrcCatalogueName, ...CrcCatalogueName[]]

function of(p: (typeof CRC_CATALOGUE)[keyof typeof CRC_CATALOGUE]): CrcSpec {
  return { width: p.width, poly: p.poly, init: p.init, refIn: p.refin, refOut: p.refout, xorOut: p.xorout }
}

export interface Check {
  /** Octets that it takes on the line, 1 to 4. */
  readonly octets: number
  readonly order: 'big' | 'little'
  /** The check over octets `from` up to but not including `to`. */
  of(octets: Uint8Array, from?: number, to?: number): number
}

function reflect(value: number, bits: number): number {
  let out = 0
  for (let i = 0; i < bits; i++) if ((value >>> i) & 1) out |= 1 << (bits - 1 - i)
  return out >>> 0
}

const cut = (value: number, width: number): number =>
  width === 32 ? value >>> 0 : (value & ((1 << width) - 1)) >>> 0

/**
 * A CRC of any width from 8 to 32 bits, table-driven. The register of one that is narrower than 32 bits stands at the
 * upper end of 32 bits where it shifts up, and at the lower end where it shifts down, so that one loop does for all.
 * @throws RangeError where a parameter does not fit the width
 */
export function crcOf(spec: CrcSpec): (octets: Uint8Array, from?: number, to?: number) => number {
  const { width, poly, init, refIn, refOut, xorOut } = spec
  if (!Number.isInteger(width) || width < 8 || width > 32)
    throw new RangeError(`no CRC of width ${width} here`)
  for (const value of [poly, init, xorOut])
    if (!Number.isInteger(value) || value < 0 || value > 2 ** width - 1)
      throw new RangeError(`${value} does not fit ${width} bits`)
  if (width === 8 || width === 16 || width === 32) {
    const known = {
      name: '',
      check: 0,
      width,
      poly,
      init,
      refin: refIn,
      refout: refOut,
      xorout: xorOut,
    } as const
    return crc(known).of
  }
  const table = refIn ? downTable(reflect(poly, width)) : upTable(poly << (32 - width))
  const start = refIn ? reflect(init, width) : init << (32 - width)
  return (octets, from = 0, to = octets.length) => {
    let r = start | 0
    if (refIn) for (let i = from; i < to; i++) r = (r >>> 8) ^ table[(r ^ octets[i]) & 0xff]
    else for (let i = from; i < to; i++) r = (r << 8) ^ table[(r >>> 24) ^ octets[i]]
    const register = refIn ? r >>> 0 : r >>> (32 - width)
    return cut((refIn === refOut ? register : reflect(register, width)) ^ xorOut, width)
  }
}

function downTable(reversed: number): Int32Array {
  return Int32Array.from({ length: 256 }, (_, octet) => {
    let r = octet
    for (let bit = 0; bit < 8; bit++) r = r & 1 ? (r >>> 1) ^ reversed : r >>> 1
    return r
  })
}

function upTable(poly: number): Int32Array {
  return Int32Array.from({ length: 256 }, (_, octet) => {
    let r = octet << 24
    for (let bit = 0; bit < 8; bit++) r = r < 0 ? (r << 1) ^ poly : r << 1
    return r
  })
}

function sumOf(width: 8 | 16, complement: 'none' | 'ones' | 'twos') {
  return (octets: Uint8Array, from = 0, to = octets.length): number => {
    let sum = 0
    for (let i = from; i < to; i++) sum = (sum + octets[i]) | 0
    return cut(complement === 'none' ? sum : complement === 'ones' ? ~sum : -sum, width)
  }
}

function xorOf(init: number, complement: boolean) {
  const last = complement ? 0xff : 0
  return (octets: Uint8Array, from = 0, to = octets.length): number => {
    let sum = init
    for (let i = from; i < to; i++) sum ^= octets[i]
    return sum ^ last
  }
}

const hex = (digits: string): number => Number.parseInt(digits.replace(/^0x/i, ''), 16)

/**
 * The check that a dialect file describes.
 * @throws RangeError where CRC parameters do not fit their width
 */
export function checkOf(spec: CheckSpec): Check {
  switch (spec.kind) {
    case 'named': {
      const named = CATALOGUE[spec.name]
      return { octets: Math.ceil(named.width / 8), order: spec.order, of: crcOf(named) }
    }
    case 'crc': {
      const { width, refIn, refOut, order } = spec
      const given = {
        width,
        refIn,
        refOut,
        poly: hex(spec.poly),
        init: hex(spec.init),
        xorOut: hex(spec.xorOut),
      }
      return { octets: Math.ceil(width / 8), order, of: crcOf(given) }
    }
    case 'sum':
      return { octets: spec.width / 8, order: spec.order, of: sumOf(spec.width, spec.complement) }
    case 'xor':
      return { octets: 1, order: 'big', of: xorOf(spec.init, spec.complement) }
  }
}
