import { ProblemError } from '../model/problem.ts'

/**
 * The octets of ST AN3155, the serial protocol of the loader that ST puts into the ROM of its controllers. Both the
 * procedure and the virtual chip speak with these; which octets they are is tested against the published exchanges.
 */

/** The host's first octet, by which the chip measures the rate. */
export const HELLO = 0x7f
export const ACK = 0x79
export const NACK = 0x1f

export const COMMAND = {
  get: 0x00,
  getVersion: 0x01,
  getId: 0x02,
  readMemory: 0x11,
  go: 0x21,
  writeMemory: 0x31,
  erase: 0x43,
  extendedErase: 0x44,
  writeProtect: 0x63,
  writeUnprotect: 0x73,
  readOutProtect: 0x82,
  readOutUnprotect: 0x92,
} as const
export type CommandCode = (typeof COMMAND)[keyof typeof COMMAND]

/** Most octets that one Read Memory or Write Memory carries. */
export const MAX_BLOCK = 256
/** The rates that the loader is stated to follow, in baud. */
export const BAUD = { least: 1200, most: 115_200 } as const
/** Page counts and numbers take one octet in Erase and two in Extended Erase. */
export const ERASE_MOST_PAGES = 256
/** Extended Erase counts of FFF0 and more are special codes. */
export const EXTENDED_SPECIAL = { least: 0xfff0, all: 0xffff, bank1: 0xfffe, bank2: 0xfffd } as const

/** XOR of the octets; over data and its checksum it is 0. */
export function xorOf(octets: ArrayLike<number>, from = 0, to = octets.length): number {
  let sum = 0
  for (let i = from; i < to; i++) sum ^= octets[i]
  return sum
}

const outOfRange = (what: string, value: number, expected: string): never => {
  throw new ProblemError({
    code: 'boot-rom.out-of-range',
    message: `The chip's own loader cannot be given ${what} ${value}.`,
    expected,
  })
}

/** A command and its complement. */
export const commandOctets = (code: number): Uint8Array => Uint8Array.of(code, code ^ 0xff)

/** @throws ProblemError for an address that four octets cannot carry */
export function addressOctets(address: number): Uint8Array {
  if (!Number.isInteger(address) || address < 0 || address > 0xffff_ffff)
    outOfRange('the address', address, '0 to FFFFFFFF')
  const octets = Uint8Array.of(address >>> 24, address >>> 16, address >>> 8, address, 0)
  octets[4] = xorOf(octets, 0, 4)
  return octets
}

const checkBlock = (count: number) =>
  Number.isInteger(count) && count >= 1 && count <= MAX_BLOCK
    ? count
    : outOfRange('a block of', count, '1 to 256 octets')

/** How many octets Read Memory is to give, less one, and the complement. @param count 1 to 256 */
export const readCountOctets = (count: number): Uint8Array => commandOctets(checkBlock(count) - 1)

/** Count less one, data, checksum over both. @param data 1 to 256 octets */
export const writeDataOctets = (data: Uint8Array): Uint8Array =>
  withChecksum([checkBlock(data.length) - 1, ...data])

/** Count less one and page numbers as one octet each. @param pages 1 to 255 pages numbered 0 to 255 */
export function eraseOctets(pages: readonly number[]): Uint8Array {
  // 256 pages would be the count FF, which stands for all.
  if (pages.length < 1 || pages.length >= ERASE_MOST_PAGES)
    outOfRange('a number of pages', pages.length, '1 to 255')
  for (const page of pages) if (page < 0 || page >= ERASE_MOST_PAGES) outOfRange('page', page, '0 to 255')
  return withChecksum([pages.length - 1, ...pages])
}

/** The same with two octets each. @param pages 1 to 65520 pages numbered 0 to 65535 */
export function extendedEraseOctets(pages: readonly number[]): Uint8Array {
  if (pages.length < 1 || pages.length > EXTENDED_SPECIAL.least)
    outOfRange('a number of pages', pages.length, '1 to 65520')
  for (const page of pages) if (page < 0 || page > 0xffff) outOfRange('page', page, '0 to 65535')
  return withChecksum([pages.length - 1, ...pages].flatMap(n => [n >> 8, n & 0xff]))
}

/** Erase of everything: a whole chip must never go with one slip, so the procedure has no use for it. */
export const eraseAllOctets = (): Uint8Array => Uint8Array.of(0xff, 0x00)
/** @param code one of `EXTENDED_SPECIAL` */
export const extendedEraseSpecialOctets = (code: number): Uint8Array => withChecksum([code >> 8, code & 0xff])

function withChecksum(octets: readonly number[]): Uint8Array {
  const all = new Uint8Array(octets.length + 1)
  all.set(octets)
  all[octets.length] = xorOf(octets)
  return all
}
