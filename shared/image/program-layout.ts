import type { Problem } from '../model/problem.ts'
import { failed, type Result, succeeded } from '../model/problem.ts'
import { crc32 } from '../wire/checksum.ts'
import { findIdentity, type IdentityBlock, isIdentity } from './identity-block.ts'
import {
  type FailsafeDefault,
  failsafeCodec,
  type HopTable,
  hopCodec,
  type OutputTable,
  outputCodec,
  type SectionCodec,
  type TelemetryDescriptor,
  telemetryCodec,
} from './program-sections.ts'

/**
 * How a program image that Preflash builds is laid out, and reading one back as the virtual receiver does when it
 * starts it. Numbers are big-endian.
 *
 * | offset | what |
 * | 0 | 64 vectors of 4 octets: top of the stack, start of the program, handlers |
 * | 100 | directory: `PFDR`, structure version 1 (2), number of sections (2), then for each section its name (4), offset, length and CRC-32 (4 each) |
 * | 200 | identity block |
 * | 300 | sections, each on a multiple of 16 octets: OUTS HOPS SAFE TELE, in larger images SINE EXPO, NOTE CODE |
 * | last 4 | CRC-32 of everything before |
 *
 * (Offsets in hexadecimal.)
 */
export const DIRECTORY_OFFSET = 0x100
export const FIRST_SECTION = 0x300
export const TRAILER_BYTES = 4
const MAGIC = [0x50, 0x46, 0x44, 0x52]
const HEAD_BYTES = 8
const ENTRY_BYTES = 16
const MOST_SECTIONS = 15

export interface SectionEntry {
  /** Four ASCII characters. */
  readonly tag: string
  readonly offset: number
  readonly length: number
  readonly crc32: number
}

/** @throws RangeError for more than 15 sections, or a name that is not four characters */
export function encodeDirectory(entries: readonly SectionEntry[]): Uint8Array {
  if (entries.length > MOST_SECTIONS) throw new RangeError(`${entries.length} sections`)
  const octets = new Uint8Array(HEAD_BYTES + ENTRY_BYTES * entries.length)
  const view = new DataView(octets.buffer)
  octets.set(MAGIC)
  view.setUint16(4, 1)
  view.setUint16(6, entries.length)
  entries.forEach(({ tag, offset, length, crc32: check }, n) => {
    if (!/^[A-Z]{4}$/.test(tag)) throw new RangeError(`a section called ${tag}`)
    const at = HEAD_BYTES + ENTRY_BYTES * n
    for (let i = 0; i < 4; i++) octets[at + i] = tag.charCodeAt(i)
    view.setUint32(at + 4, offset)
    view.setUint32(at + 8, length)
    view.setUint32(at + 12, check)
  })
  return octets
}

/** What a receiver needs to run an image. */
export interface ImageTables {
  readonly identity: IdentityBlock
  readonly sections: readonly SectionEntry[]
  readonly hopTables: readonly HopTable[]
  readonly outputs: readonly OutputTable[]
  readonly failsafe: readonly FailsafeDefault[]
  readonly telemetry: readonly TelemetryDescriptor[]
  /** Release notes as far as they fit into the image. */
  readonly notes: string
}

const bad = (code: string, message: string): Result<never> =>
  failed({ code, message, remedy: 'Write the image again.' } satisfies Problem)

/**
 * Reads the tables as a starting receiver does, checking every sum on the way.
 * @param flash program flash from its start; it may be longer than the image
 * @returns the tables; or `tables.no-identity` (not an image for Preflash's virtual receivers), the problems of
 * findIdentity, `tables.length`, `tables.checksum`, `tables.directory`, `tables.section`
 */
export function readImageTables(flash: Uint8Array): Result<ImageTables> {
  const identity = findIdentity(flash)
  if (identity === undefined)
    return bad('tables.no-identity', 'There is no identity block, so the tables cannot be found.')
  if (!isIdentity(identity)) return failed(identity)
  const { imageLength } = identity
  if (imageLength > flash.length || imageLength < FIRST_SECTION + TRAILER_BYTES)
    return bad(
      'tables.length',
      `The image says that it is ${imageLength} octets long; there are ${flash.length}.`,
    )
  const image = flash.subarray(0, imageLength)
  const end = imageLength - TRAILER_BYTES
  if (viewOf(image).getUint32(end) !== crc32(image, 0, end))
    return bad('tables.checksum', 'The image does not add up to the checksum at its end.')
  const sections = readDirectory(image, end)
  if (sections === undefined) return bad('tables.directory', 'The directory of the image makes no sense.')
  return readSections(image, identity, sections)
}

const viewOf = (octets: Uint8Array): DataView => new DataView(octets.buffer, octets.byteOffset, octets.length)

function readDirectory(image: Uint8Array, end: number): SectionEntry[] | undefined {
  const view = viewOf(image)
  if (MAGIC.some((octet, i) => image[DIRECTORY_OFFSET + i] !== octet)) return undefined
  const count = view.getUint16(DIRECTORY_OFFSET + 6)
  if (view.getUint16(DIRECTORY_OFFSET + 4) !== 1 || count > MOST_SECTIONS) return undefined
  const entries = Array.from({ length: count }, (_, n): SectionEntry => {
    const at = DIRECTORY_OFFSET + HEAD_BYTES + ENTRY_BYTES * n
    return {
      tag: String.fromCharCode(...image.subarray(at, at + 4)),
      offset: view.getUint32(at + 4),
      length: view.getUint32(at + 8),
      crc32: view.getUint32(at + 12),
    }
  })
  const inBounds = (e: SectionEntry) => e.offset >= FIRST_SECTION && e.offset + e.length <= end
  return entries.every(inBounds) ? entries : undefined
}

function readSections(
  image: Uint8Array,
  identity: IdentityBlock,
  sections: readonly SectionEntry[],
): Result<ImageTables> {
  const octetsOf = (tag: string): Uint8Array | undefined => {
    const entry = sections.find(s => s.tag === tag)
    if (entry === undefined) return undefined
    const octets = image.subarray(entry.offset, entry.offset + entry.length)
    return crc32(octets) === entry.crc32 ? octets : undefined
  }
  const decode = <T>(tag: string, codec: SectionCodec<T>): T[] | undefined => {
    const octets = octetsOf(tag)
    return octets && codec.decode(octets)
  }
  const hopTables = decode('HOPS', hopCodec)
  const outputs = decode('OUTS', outputCodec)
  const failsafe = decode('SAFE', failsafeCodec)
  const telemetry = decode('TELE', telemetryCodec)
  const notes = octetsOf('NOTE')
  if (!hopTables || !outputs || !failsafe || !telemetry || !notes)
    return bad('tables.section', 'A table of the image is missing or damaged.')
  return succeeded({
    identity,
    sections,
    hopTables,
    outputs,
    failsafe,
    telemetry,
    notes: new TextDecoder().decode(notes),
  })
}
