import { CRC_CATALOGUE, crc } from '../wire/checksum.ts'

/**
 * What arrives at the receiving end of XMODEM and YMODEM, taken apart; C. Forsberg (ed.), XMODEM/YMODEM Protocol
 * Reference, 18 June 1988, sections 4.3, 5, 7.2 and 8.
 */
export const BYTE = {
  soh: 0x01,
  stx: 0x02,
  eot: 0x04,
  ack: 0x06,
  nak: 0x15,
  cancel: 0x18,
  crcPlease: 0x43,
} as const

export type Came =
  | { readonly came: 'block'; readonly octets: number; readonly number: number; readonly data: Uint8Array }
  /** noise: octets that begin nothing. */
  | { readonly came: 'damaged' | 'end' | 'cancel' | 'noise'; readonly octets: number }

const crc16 = crc(CRC_CATALOGUE.xmodem)

/**
 * Looks at the beginning of what has arrived.
 * @returns what it is and how many octets it takes; undefined when more has to come first
 */
export function look(held: readonly number[]): Came | undefined {
  const [first, second] = held
  if (first === undefined) return undefined
  if (first === BYTE.eot) return { came: 'end', octets: 1 }
  if (first === BYTE.cancel) {
    if (second === undefined) return undefined
    return second === BYTE.cancel ? { came: 'cancel', octets: 2 } : { came: 'noise', octets: 1 }
  }
  if (first !== BYTE.soh && first !== BYTE.stx) return { came: 'noise', octets: 1 }
  const size = first === BYTE.soh ? 128 : 1024
  const whole = 3 + size + 2
  if (held.length < whole) return undefined
  const data = Uint8Array.from(held.slice(3, 3 + size))
  const stated = (held[3 + size] << 8) | held[4 + size]
  const isSound = held[1] === (held[2] ^ 0xff) && crc16.of(data) === stated
  return isSound
    ? { came: 'block', octets: whole, number: held[1], data }
    : { came: 'damaged', octets: whole }
}

/** The length that the header of a file states in decimal after its name; undefined where it states none. */
export function statedLength(header: Uint8Array): number | undefined {
  const end = header.indexOf(0)
  if (end < 0) return undefined
  let length = 0
  let digits = 0
  for (let i = end + 1; i < header.length && header[i] >= 0x30 && header[i] <= 0x39 && digits < 10; i++) {
    length = length * 10 + header[i] - 0x30
    digits++
  }
  return digits > 0 ? length : undefined
}
