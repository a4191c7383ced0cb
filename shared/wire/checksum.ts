/**
 * Checksums. The general engine takes the usual parameters of a CRC; FCS-16 and CRC-32 have functions of their own
 * because the simulator calls them for every frame and every page.
 */

export type CrcWidth = 8 | 16 | 32

export interface CrcParameters {
  readonly name: string
  readonly width: CrcWidth
  readonly poly: number
  readonly init: number
  /** Each octet enters with its lowest bit first. */
  readonly refin: boolean
  /** The register leaves with its lowest bit first. */
  readonly refout: boolean
  readonly xorout: number
  /** The published result over the nine ASCII characters 123456789. */
  readonly check: number
}

export interface Crc {
  readonly parameters: CrcParameters
  /** The register before the first octet. */
  readonly start: number
  /** Takes octets `from` up to but not including `to` into the register. */
  update(register: number, octets: Uint8Array, from?: number, to?: number): number
  /** The checksum that a register stands for. */
  finish(register: number): number
  /** The checksum of octets `from` up to but not including `to`. */
  of(octets: Uint8Array, from?: number, to?: number): number
}

/**
 * Parameters and check values as the public catalogue of parametrised CRC algorithms gives them.
 * IBM-SDLC is the FCS-16 of RFC 1662, ISO-HDLC the CRC-32 of zlib, PNG and Ethernet.
 */
export const CRC_CATALOGUE = {
  xmodem: row('CRC-16/XMODEM', 16, 0x1021, 0x0000, false, 0x0000, 0x31c3),
  ibmSdlc: row('CRC-16/IBM-SDLC', 16, 0x1021, 0xffff, true, 0xffff, 0x906e),
  modbus: row('CRC-16/MODBUS', 16, 0x8005, 0xffff, true, 0x0000, 0x4b37),
  ibm3740: row('CRC-16/IBM-3740', 16, 0x1021, 0xffff, false, 0x0000, 0x29b1),
  kermit: row('CRC-16/KERMIT', 16, 0x1021, 0x0000, true, 0x0000, 0x2189),
  isoHdlc: row('CRC-32/ISO-HDLC', 32, 0x04c11db7, 0xffffffff, true, 0xffffffff, 0xcbf43926),
  mpeg2: row('CRC-32/MPEG-2', 32, 0x04c11db7, 0xffffffff, false, 0x00000000, 0x0376e6e7),
  smbus: row('CRC-8/SMBUS', 8, 0x07, 0x00, false, 0x00, 0xf4),
  dvbS2: row('CRC-8/DVB-S2', 8, 0xd5, 0x00, false, 0x00, 0xbc),
} as const satisfies Readonly<Record<string, CrcParameters>>
export type CrcName = keyof typeof CRC_CATALOGUE

function row(
  name: string,
  width: CrcWidth,
  poly: number,
  init: number,
  reflected: boolean,
  xorout: number,
  check: number,
): CrcParameters {
  return { name, width, poly, init, refin: reflected, refout: reflected, xorout, check }
}

function reflect(value: number, bits: number): number {
  let out = 0
  for (let i = 0; i < bits; i++) if ((value >>> i) & 1) out |= 1 << (bits - 1 - i)
  return out >>> 0
}

/** The register's change for each value of one octet, for a register that shifts towards its low end. */
function reflectedTable(poly: number, width: CrcWidth): Uint32Array {
  const reversed = reflect(poly, width)
  return Uint32Array.from({ length: 256 }, (_, octet) => {
    let register = octet
    for (let bit = 0; bit < 8; bit++) register = register & 1 ? (register >>> 1) ^ reversed : register >>> 1
    return register >>> 0
  })
}

/** The same for a register that shifts towards its high end. */
function forwardTable(poly: number, width: CrcWidth, mask: number): Uint32Array {
  const top = 2 ** (width - 1)
  return Uint32Array.from({ length: 256 }, (_, octet) => {
    let register = (octet << (width - 8)) >>> 0
    for (let bit = 0; bit < 8; bit++)
      register = (((register << 1) ^ (register >= top ? poly : 0)) & mask) >>> 0
    return register >>> 0
  })
}

/**
 * A table-driven CRC of width 8, 16 or 32.
 * @throws RangeError for another width, or a parameter that does not fit the width
 */
export function crc(parameters: CrcParameters): Crc {
  const { width, poly, init, refin, refout, xorout } = parameters
  if (width !== 8 && width !== 16 && width !== 32) throw new RangeError(`no CRC of width ${width} here`)
  const mask = 2 ** width - 1
  for (const value of [poly, init, xorout])
    if (!Number.isInteger(value) || value < 0 || value > mask)
      throw new RangeError(`${value} does not fit ${width} bits`)
  const table = refin ? reflectedTable(poly, width) : forwardTable(poly, width, mask)
  const start = refin ? reflect(init, width) : init
  const update = (register: number, octets: Uint8Array, from = 0, to = octets.length): number => {
    let r = register >>> 0
    if (refin) for (let i = from; i < to; i++) r = (r >>> 8) ^ table[(r ^ octets[i]) & 0xff]
    else
      for (let i = from; i < to; i++) r = ((r << 8) ^ table[((r >>> (width - 8)) ^ octets[i]) & 0xff]) & mask
    return r >>> 0
  }
  const finish = (register: number): number =>
    ((refin === refout ? register : reflect(register, width)) ^ xorout) >>> 0
  return { parameters, start, update, finish, of: (o, from, to) => finish(update(start, o, from, to)) }
}

export const FCS16_INIT = 0xffff
/** What the register holds after a body and its own FCS, low octet first. RFC 1662, appendix C.2. */
export const FCS16_GOOD = 0xf0b8

const fcs16Table = Uint16Array.from(reflectedTable(0x1021, 16))

/**
 * One octet into the FCS-16 register: the table of RFC 1662, appendix C.2.
 * @returns the register, 0..0xffff
 */
export const fcs16Octet = (fcs: number, octet: number): number =>
  (fcs >>> 8) ^ fcs16Table[(fcs ^ octet) & 0xff]

/** Octets `from` up to but not including `to` into the FCS-16 register (start it at FCS16_INIT). */
export function fcs16Update(fcs: number, octets: Uint8Array, from: number, to: number): number {
  let register = fcs & 0xffff
  for (let i = from; i < to; i++) register = (register >>> 8) ^ fcs16Table[(register ^ octets[i]) & 0xff]
  return register
}

/** The FCS-16 of RFC 1662, complemented as it is sent (low octet first). 0..0xffff. */
export function fcs16(octets: Uint8Array, from = 0, to = octets.length): number {
  return fcs16Update(FCS16_INIT, octets, from, to) ^ 0xffff
}

export const CRC32_INIT = 0xffffffff

/**
 * Eight tables in one: entry 256·k + v is the change that octet v makes when k more octets follow it, so that
 * eight octets enter the register at once.
 */
const crc32Tables = (() => {
  const tables = new Int32Array(8 * 256)
  tables.set(reflectedTable(0x04c11db7, 32))
  for (let i = 256; i < tables.length; i++) {
    const before = tables[i - 256]
    tables[i] = (before >>> 8) ^ tables[before & 0xff]
  }
  return tables
})()

/**
 * Octets `from` up to but not including `to` into the CRC-32 register: start it at CRC32_INIT, end with
 * crc32Finish. Eight octets a step.
 * @returns the register as a signed 32-bit number, which the engine keeps without a heap object
 */
export function crc32Update(state: number, octets: Uint8Array, from = 0, to = octets.length): number {
  const t = crc32Tables
  let r = state | 0
  let i = from
  for (const last = to - 7; i < last; i += 8) {
    r ^= octets[i] | (octets[i + 1] << 8) | (octets[i + 2] << 16) | (octets[i + 3] << 24)
    r =
      t[0x700 | (r & 0xff)] ^
      t[0x600 | ((r >>> 8) & 0xff)] ^
      t[0x500 | ((r >>> 16) & 0xff)] ^
      t[0x400 | (r >>> 24)] ^
      t[0x300 | octets[i + 4]] ^
      t[0x200 | octets[i + 5]] ^
      t[0x100 | octets[i + 6]] ^
      t[octets[i + 7]]
  }
  for (; i < to; i++) r = (r >>> 8) ^ t[(r ^ octets[i]) & 0xff]
  return r
}

/** The checksum that a CRC-32 register stands for, 0..0xffffffff. */
export const crc32Finish = (state: number): number => ~state >>> 0

/** CRC-32/ISO-HDLC of octets `from` up to but not including `to`, 0..0xffffffff. */
export function crc32(octets: Uint8Array, from = 0, to = octets.length): number {
  return crc32Finish(crc32Update(CRC32_INIT, octets, from, to))
}

/** The arithmetic sum modulo 256, as the first XMODEM and the Intel HEX records use it. */
export function sum8(octets: Uint8Array, from = 0, to = octets.length): number {
  let sum = 0
  for (let i = from; i < to; i++) sum += octets[i]
  return sum & 0xff
}
