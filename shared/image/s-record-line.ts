import type { Problem } from '../model/problem.ts'
import { DIGITS, NO_DIGIT } from './hex-line.ts'

/** One line of a Motorola S-record file, checked on its own: characters, length, checksum, type. */

/** The record that was read last; reused, as in hex-line.ts. */
export interface SRecord {
  /** 0 to 9, never 4. */
  type: number
  /** The address field; of types 5 and 6 the count. */
  address: number
  /** Octets of data. */
  count: number
  /** The first `count` are this record's. */
  readonly data: Uint8Array
}

export const emptySRecord = (): SRecord => ({ type: 0, address: 0, count: 0, data: new Uint8Array(255) })

export type SRecordFault = Pick<Problem, 'code' | 'message' | 'expected' | 'remedy'>

/** Octets of the address field of each type; type 4 is reserved. */
const ADDRESS_OCTETS: readonly (number | undefined)[] = [2, 2, 3, 4, undefined, 2, 3, 4, 3, 2]
const NAMES = ['header', 'data', 'data', 'data', '', 'count', 'count', 'end', 'end', 'end']
const LETTER_S = 0x53
/** S, type and the two digits of the count. */
const HEAD = 4

const hex2 = (value: number): string => value.toString(16).toUpperCase().padStart(2, '0')
const remedy = 'The file was damaged or changed. Get it again from where it came from.'

/**
 * Reads the record in characters `from` up to but not including `to`, line end not among them.
 * @returns what is wrong with it; undefined when it is good and stands in `record`
 */
export function readSRecordLine(
  text: Uint8Array,
  from: number,
  to: number,
  record: SRecord,
): SRecordFault | undefined {
  if (text[from] !== LETTER_S)
    return {
      code: 's-record.start',
      message: 'The line does not begin with a capital S.',
      expected: 'S and a digit',
      remedy,
    }
  const type = to - from > 1 ? text[from + 1] - 0x30 : -1
  const addressOctets = ADDRESS_OCTETS[type]
  if (addressOctets === undefined) return badType(text, from, to)
  const characters = to - from
  const count = characters < HEAD ? 0 : (DIGITS[text[from + 2]] << 4) | DIGITS[text[from + 3]]
  if (characters !== HEAD + 2 * count || count < addressOctets + 1)
    return badLength(text, from, to, addressOctets + 1)
  let sum = 0
  let seen = 0
  let address = 0
  let octet = 0
  for (let n = 0; n <= count; n++) {
    const high = DIGITS[text[from + 2 + 2 * n]]
    const low = DIGITS[text[from + 3 + 2 * n]]
    seen |= high | low
    octet = ((high << 4) | low) & 0xff
    sum += octet
    if (n > addressOctets) record.data[n - addressOctets - 1] = octet
    else if (n > 0) address = address * 256 + octet
  }
  if (seen > 0x0f) return badCharacter(text, from, to)
  record.type = type
  record.address = address
  record.count = count - addressOctets - 1
  if ((sum & 0xff) !== 0xff) return badSum(octet, sum)
  return badCount(record)
}

/** All octets after the type, the checksum among them, add up to FF. */
function badSum(written: number, sum: number): SRecordFault {
  return {
    code: 's-record.checksum',
    message: `The checksum at the end of the line is ${hex2(written)}, but the line adds up to another one.`,
    expected: `checksum ${hex2((written + 0xff - sum) & 0xff)}`,
    remedy,
  }
}

function badType(text: Uint8Array, from: number, to: number): SRecordFault {
  const code = to - from > 1 ? text[from + 1] : 0
  const shown = code > 0x20 && code < 0x7f ? `S${String.fromCharCode(code)}` : 'an S without a digit'
  return {
    code: 's-record.type',
    message: `The line begins with ${shown}, which is no type of record.`,
    expected: 'S0 to S9, but not S4',
    remedy,
  }
}

function badCount({ type, count }: SRecord): SRecordFault | undefined {
  if (type <= 3 || count === 0) return undefined
  return {
    code: 's-record.record-length',
    message: `The line is a record of type S${type} (${NAMES[type]}) with ${count} octets of data.`,
    expected: 'no data in it',
    remedy,
  }
}

/** Wrong characters come first: a letter that slipped in is often the very reason why the length is wrong. */
function badLength(text: Uint8Array, from: number, to: number, leastCount: number): SRecordFault {
  const character = badCharacter(text, from, to)
  if (character !== undefined) return character
  const digits = to - from - 2
  if (digits % 2 === 1)
    return {
      code: 's-record.odd',
      message: `The line has ${digits} digits after its type; they come in pairs, so one is missing or too many.`,
      expected: 'an even number of digits',
      remedy,
    }
  if (digits < 2 + 2 * leastCount)
    return {
      code: 's-record.short',
      message: `The line has only ${digits} digits after its type.`,
      expected: `at least ${2 + 2 * leastCount} digits`,
      remedy,
    }
  const count = (DIGITS[text[from + 2]] << 4) | DIGITS[text[from + 3]]
  return {
    code: 's-record.length',
    message: `The line says that ${count} octets follow its length, but it has ${digits - 2} digits there.`,
    expected: count < leastCount ? `a length of at least ${leastCount}` : `${2 * count} digits`,
    remedy,
  }
}

function badCharacter(text: Uint8Array, from: number, to: number): SRecordFault | undefined {
  for (let at = from + 2; at < to; at++) {
    if (DIGITS[text[at]] !== NO_DIGIT) continue
    const code = text[at]
    const shown = code > 0x20 && code < 0x7f ? `"${String.fromCharCode(code)}"` : `with code ${code}`
    return {
      code: 's-record.character',
      message: `Character ${at - from + 1} of the line, ${shown}, is no hexadecimal digit.`,
      expected: 'only 0 to 9 and A to F after the type',
      remedy,
    }
  }
  return undefined
}
