import type { Problem } from '../model/problem.ts'
import { sayAddress } from './segments.ts'

/**
 * One block of a UF2 file, checked on its own, after the README of the Microsoft UF2 specification. All numbers are
 * 32 bits, little-endian.
 *
 * | offset | field |
 * | 0, 4 | first and second magic number |
 * | 8 | flags |
 * | 12 | address |
 * | 16 | octets of payload, up to 476 |
 * | 20, 24 | number of the block from 0, and how many there are |
 * | 28 | family, or the file's size |
 * | 32 | payload, then extension tags; with an MD5 sum, its last 24 octets are address, length and sum of a region |
 * | 508 | last magic number |
 */
export const UF2_BLOCK_BYTES = 512
export const UF2_DATA_OFFSET = 32
export const UF2_MOST_PAYLOAD = 476
export const UF2_MAGIC = [0x0a324655, 0x9e5d5157, 0x0ab16f30] as const
export const UF2_FLAGS = {
  notMainFlash: 0x0001,
  fileContainer: 0x1000,
  familyId: 0x2000,
  md5: 0x4000,
  tags: 0x8000,
} as const
const MD5_FIELD_BYTES = 24
const LAST_MAGIC_OFFSET = 508

/** Types of extension tags that the specification names. */
export const UF2_TAGS = {
  version: 0x9fc7bc,
  device: 0x650d9d,
  pageBytes: 0x0be9f7,
  sha2: 0xb46db0,
  deviceType: 0xc8a729,
} as const

export interface Uf2Tag {
  /** 24 bits. */
  readonly type: number
  readonly octets: Uint8Array
}

export interface Uf2Block {
  readonly flags: number
  readonly address: number
  /** Shares the file's octets. */
  readonly payload: Uint8Array
  /** From 0. */
  readonly number: number
  readonly total: number
  /** Undefined where the block names none. */
  readonly familyId: number | undefined
  readonly tags: readonly Uf2Tag[]
  readonly md5: { readonly address: number; readonly length: number; readonly sum: Uint8Array } | undefined
}

export type Uf2Fault = Pick<Problem, 'code' | 'message' | 'expected' | 'remedy'>

const remedy = 'The file was damaged or changed. Get it again from where it came from.'
const fault = (code: string, message: string, expected: string): Uf2Fault => ({
  code,
  message,
  expected,
  remedy,
})

/** Tells a fault from a block. */
export const isUf2Block = (read: Uf2Block | Uf2Fault): read is Uf2Block => 'payload' in read

/**
 * Reads the block of 512 octets that begins at `at`; the caller sees to it that they are there.
 * @returns the block; or `uf2.magic`, `uf2.payload`, `uf2.number`, `uf2.address`, `uf2.tags`
 */
export function readUf2Block(octets: Uint8Array, at: number): Uf2Block | Uf2Fault {
  const view = new DataView(octets.buffer, octets.byteOffset + at, UF2_BLOCK_BYTES)
  const word = (offset: number) => view.getUint32(offset, true)
  const damaged = badMagic(word)
  if (damaged !== undefined) return damaged
  const [flags, address, size, number, total] = [8, 12, 16, 20, 24].map(word)
  const has = (flag: number) => (flags & flag) !== 0
  const room = UF2_MOST_PAYLOAD - (has(UF2_FLAGS.md5) ? MD5_FIELD_BYTES : 0)
  if (size > room)
    return fault('uf2.payload', `The block says that it holds ${size} octets of data.`, `at most ${room}`)
  if (number >= total)
    return fault(
      'uf2.number',
      `The block says that it is number ${number} (counted from 0) of ${total} blocks.`,
      'a number below how many there are',
    )
  if (!has(UF2_FLAGS.notMainFlash) && address + size > 2 ** 32)
    return fault(
      'uf2.address',
      `The ${size} octets at ${sayAddress(address)} reach beyond the highest address there is.`,
      'addresses up to 0xFFFFFFFF',
    )
  const data = octets.subarray(at + UF2_DATA_OFFSET, at + UF2_DATA_OFFSET + room)
  const tags = has(UF2_FLAGS.tags) ? readTags(data, size) : []
  if (!Array.isArray(tags)) return tags as Uf2Fault
  const md5At = UF2_DATA_OFFSET + room
  return {
    flags,
    address,
    payload: data.subarray(0, size),
    number,
    total,
    familyId: has(UF2_FLAGS.familyId) ? word(28) : undefined,
    tags,
    md5: has(UF2_FLAGS.md5)
      ? {
          address: word(md5At),
          length: word(md5At + 4),
          sum: octets.subarray(at + md5At + 8, at + md5At + MD5_FIELD_BYTES),
        }
      : undefined,
  }
}

function badMagic(word: (offset: number) => number): Uf2Fault | undefined {
  const places = [0, 4, LAST_MAGIC_OFFSET]
  const wrong = places.findIndex((place, i) => word(place) !== UF2_MAGIC[i])
  if (wrong < 0) return undefined
  const hex = (value: number) => value.toString(16).toUpperCase().padStart(8, '0')
  return fault(
    'uf2.magic',
    `The block’s mark at its octet ${places[wrong]} is ${hex(word(places[wrong]))}.`,
    hex(UF2_MAGIC[wrong]),
  )
}

/** Tags begin after the payload, each at a multiple of 4; a type of FFFFFF or 0 ends them, and so does the room. */
function readTags(data: Uint8Array, from: number): Uf2Tag[] | Uf2Fault {
  const tags: Uf2Tag[] = []
  let at = alignUp(from)
  while (at + 4 <= data.length) {
    const size = data[at]
    const type = data[at + 1] | (data[at + 2] << 8) | (data[at + 3] << 16)
    if ((size === 0xff && type === 0xffffff) || (size === 0 && type === 0)) break
    if (size < 4 || at + size > data.length)
      return fault(
        'uf2.tags',
        `The block has an extension tag of ${size} octets where ${data.length - at} are left.`,
        'a tag of at least 4 octets that ends within the block',
      )
    tags.push({ type, octets: data.subarray(at + 4, at + size) })
    at = alignUp(at + size)
  }
  return tags
}

export const alignUp = (at: number): number => Math.ceil(at / 4) * 4
