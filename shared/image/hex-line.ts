import type { Problem } from '../model/problem.ts'

/** One line of an Intel HEX file, checked on its own: characters, length, checksum, type. */

/** The record that was read last; reused, so that a long file does not make a million small arrays. */
export interface HexRecord {
  /** Octets of data. */
  count: number
  /** The 16-bit address field. */
  offset: number
  type: number
  /** The first `count` are this record's. */
  readonly data: Uint8Array
}

export const emptyRecord = (): HexRecord => ({ count: 0, offset: 0, type: 0, data: new Uint8Array(255) })

export type HexFault = Pick<Problem, 'code' | 'message' | 'expected' | 'remedy'>

/** Colon, count, address, type, checksum: 1 + 2 + 4 + 2 + 2 characters. */
export const SHORTEST_RECORD = 11
const COLON = 0x3a
export const NO_DIGIT = 0xff

/** Value of each character code as a hexadecimal digit, NO_DIGIT where it is none. */
export const DIGITS = Uint8Array.from({ length: 256 }, (_, code) => {
  const character = String.fromCharCode(code)
  return /[0-9a-fA-F]/.test(character) ? Number.parseInt(character, 16) : NO_DIGIT
})

/** Data octets that a type has to have; data records may have any number. */
const COUNT_OF_TYPE: readonly (number | undefined)[] = [undefined, 0, 2, 4, 2, 4]
const NAME_OF_TYPE = [
  'data',
  'end of file',
  'extended segment address',
  'start segment address',
  'extended linear address',
  'start linear address',
]

const hex2 = (value: number): string => value.toString(16).toUpperCase().padStart(2, '0')
const remedy = 'The file was damaged or changed. Get it again from where it came from.'

/**
 * Reads the record in characters `from` up to but not including `to`, line end not among them.
 * @returns what is wrong with it; undefined when it is good and stands in `record`
 */
export function readHexLine(
  text: Uint8Array,
  from: number,
  to: number,
  record: HexRecord,
): HexFault | undefined {
  const characters = to - from
  if (text[from] !== COLON)
    return { code: 'hex.start', message: 'The line does not begin with a colon.', expected: ':', remedy }
  if (characters < SHORTEST_RECORD || characters % 2 === 0) return badLength(text, from, to)
  const count = (DIGITS[text[from + 1]] << 4) | DIGITS[text[from + 2]]
  if (characters !== SHORTEST_RECORD + 2 * count) return badLength(text, from, to)
  let sum = 0
  let octetIndex = 0
  let seen = 0
  for (let at = from + 1; at < to; at += 2, octetIndex++) {
    const high = DIGITS[text[at]]
    const low = DIGITS[text[at + 1]]
    seen |= high | low
    const octet = ((high << 4) | low) & 0xff
    sum += octet
    if (octetIndex >= 4 && octetIndex < 4 + count) record.data[octetIndex - 4] = octet
  }
  if (seen > 0x0f) return badCharacter(text, from, to)
  const octetAt = (n: number) => (DIGITS[text[from + 1 + 2 * n]] << 4) | DIGITS[text[from + 2 + 2 * n]]
  record.count = count
  record.offset = (octetAt(1) << 8) | octetAt(2)
  record.type = octetAt(3)
  if ((sum & 0xff) !== 0) {
    const written = octetAt(4 + count)
    return {
      code: 'hex.checksum',
      message: `The checksum at the end of the line is ${hex2(written)}, but the line adds up to another one.`,
      expected: `checksum ${hex2((written - sum) & 0xff)}`,
      remedy,
    }
  }
  return badType(record)
}

function badType({ type, count }: HexRecord): HexFault | undefined {
  if (type > 5)
    return {
      code: 'hex.type',
      message: `The line has record type ${hex2(type)}, which Intel HEX does not have.`,
      expected: 'a record type from 00 to 05',
      remedy,
    }
  const due = COUNT_OF_TYPE[type]
  if (due === undefined || due === count) return undefined
  return {
    code: 'hex.record-length',
    message: `The line is a record of type ${hex2(type)} (${NAME_OF_TYPE[type]}) with ${count} octets of data.`,
    expected: `${due} octets of data`,
    remedy,
  }
}

/** Wrong characters come first: a letter that slipped in is often the very reason why the length is wrong. */
function badLength(text: Uint8Array, from: number, to: number): HexFault {
  const character = badCharacter(text, from, to)
  if (character !== undefined) return character
  const digits = to - from - 1
  if (digits % 2 === 1)
    return {
      code: 'hex.odd',
      message: `The line has ${digits} digits after the colon; they come in pairs, so one is missing or too many.`,
      expected: 'an even number of digits',
      remedy,
    }
  if (digits < SHORTEST_RECORD - 1)
    return {
      code: 'hex.short',
      message: `The line has only ${digits} digits after the colon.`,
      expected: `at least ${SHORTEST_RECORD - 1} digits`,
      remedy,
    }
  const count = (DIGITS[text[from + 1]] << 4) | DIGITS[text[from + 2]]
  return {
    code: 'hex.length',
    message: `The line says that it holds ${count} octets of data, but it has ${digits} digits.`,
    expected: `${SHORTEST_RECORD - 1 + 2 * count} digits`,
    remedy,
  }
}

function badCharacter(text: Uint8Array, from: number, to: number): HexFault | undefined {
  for (let at = from + 1; at < to; at++) {
    if (DIGITS[text[at]] !== NO_DIGIT) continue
    const code = text[at]
    const shown = code > 0x20 && code < 0x7f ? `"${String.fromCharCode(code)}"` : `with code ${code}`
    return {
      code: 'hex.character',
      message: `Character ${at - from + 1} of the line, ${shown}, is no hexadecimal digit.`,
      expected: 'only 0 to 9 and A to F after the colon',
      remedy,
    }
  }
  return undefined
}
