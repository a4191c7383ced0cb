import { CRC_CATALOGUE } from '../wire/checksum.ts'
import type { CheckSpec, Dialect } from './schema.ts'

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
  const start = refIn ? reflect(init, width) : init << (32 - width)
  const enter = refIn ? downwards(reflect(poly, width)) : upwards(poly << (32 - width))
  return (octets, from = 0, to = octets.length) => {
    const r = enter(start | 0, octets, from, to)
    const register = refIn ? r >>> 0 : r >>> (32 - width)
    return cut((refIn === refOut ? register : reflect(register, width)) ^ xorOut, width)
  }
}

/** Takes octets `from` up to but not including `to` into a register, which is a signed 32-bit number. */
type Enter = (register: number, octets: Uint8Array, from: number, to: number) => number

/**
 * Eight tables in one: entry 256·k + v is the change that octet v makes when k more octets follow it, so that eight
 * octets enter the register at once.
 */
function tablesOf(first: (octet: number) => number, follow: (change: number, t: Int32Array) => number) {
  const t = new Int32Array(8 * 256)
  for (let octet = 0; octet < 256; octet++) t[octet] = first(octet)
  for (let i = 256; i < t.length; i++) t[i] = follow(t[i - 256], t)
  return t
}

/** For a register that shifts towards its low end. @param reversed the polynomial, lowest bit first */
function downwards(reversed: number): Enter {
  const first = (octet: number) => {
    let r = octet
    for (let bit = 0; bit < 8; bit++) r = r & 1 ? (r >>> 1) ^ reversed : r >>> 1
    return r
  }
  const t = tablesOf(first, (change, table) => (change >>> 8) ^ table[change & 0xff])
  return (register, o, from, to) => {
    let r = register
    let i = from
    for (const last = to - 7; i < last; i += 8) {
      r ^= o[i] | (o[i + 1] << 8) | (o[i + 2] << 16) | (o[i + 3] << 24)
      const far = t[0x700 | (r & 0xff)] ^ t[0x600 | ((r >>> 8) & 0xff)] ^ t[0x500 | ((r >>> 16) & 0xff)]
      const near = t[0x300 | o[i + 4]] ^ t[0x200 | o[i + 5]] ^ t[0x100 | o[i + 6]] ^ t[o[i + 7]]
      r = far ^ t[0x400 | (r >>> 24)] ^ near
    }
    for (; i < to; i++) r = (r >>> 8) ^ t[(r ^ o[i]) & 0xff]
    return r
  }
}

/** For a register that shifts towards its high end. @param poly at the upper end of 32 bits */
function upwards(poly: number): Enter {
  const first = (octet: number) => {
    let r = octet << 24
    for (let bit = 0; bit < 8; bit++) r = r < 0 ? (r << 1) ^ poly : r << 1
    return r
  }
  const t = tablesOf(first, (change, table) => (change << 8) ^ table[change >>> 24])
  return (register, o, from, to) => {
    let r = register
    let i = from
    for (const last = to - 7; i < last; i += 8) {
      r ^= (o[i] << 24) | (o[i + 1] << 16) | (o[i + 2] << 8) | o[i + 3]
      const far = t[0x700 | (r >>> 24)] ^ t[0x600 | ((r >>> 16) & 0xff)] ^ t[0x500 | ((r >>> 8) & 0xff)]
      const near = t[0x300 | o[i + 4]] ^ t[0x200 | o[i + 5]] ^ t[0x100 | o[i + 6]] ^ t[o[i + 7]]
      r = far ^ t[0x400 | (r & 0xff)] ^ near
    }
    for (; i < to; i++) r = (r << 8) ^ t[(r >>> 24) ^ o[i]]
    return r
  }
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

/** All checks of a dialect by their names. @throws RangeError as `checkOf` does */
export const checksOf = ({ checks }: Pick<Dialect, 'checks'>): ReadonlyMap<string, Check> =>
  new Map(Object.entries(checks).map(([name, spec]) => [name, checkOf(spec)]))
