import type { ReceiverType } from '../model/catalogue.ts'
import { type Identity, typeCode } from '../procedure/bus.ts'
import { crc32 } from '../wire/checksum.ts'
import { type FlashRegion, makeRegion } from './flash.ts'
import { decodeRecord, encodeRecord, type ImageRecord, RECORD_PAGES } from './record.ts'

/** What a receiver holds, power or not. It outlives a session, so that a recovery starts from what was left. */
export interface ReceiverMemory {
  readonly program: FlashRegion
  readonly record: FlashRegion
  readonly boot: FlashRegion
  dead: string | undefined
}

const BOOT_PAGES = 8
const BOOT_STATED_AT = 8

/**
 * A boot loader's own image: a table of numbers that follow from its version, and its CRC-32 at the end, by which the
 * chip can tell whether it is whole.
 */
export function bootLoaderImage(version: number, bytes: number): Uint8Array {
  const octets = new Uint8Array(bytes)
  const v = new DataView(octets.buffer)
  let word = 0x9e3779b9 ^ version
  for (let i = 0; i + 4 <= bytes; i += 4) {
    word = (Math.imul(word ^ (word >>> 15), 0x2c1b3c6d) + i) >>> 0
    v.setUint32(i, word)
  }
  v.setUint32(BOOT_STATED_AT, version)
  v.setUint32(bytes - 4, crc32(octets, 0, bytes - 4))
  return octets
}

export function bootLoaderWhole(memory: ReceiverMemory): boolean {
  const { octets } = memory.boot
  const v = new DataView(octets.buffer, octets.byteOffset, octets.byteLength)
  return v.getUint32(octets.length - 4) === crc32(octets, 0, octets.length - 4)
}

export function blankMemory(type: ReceiverType): ReceiverMemory {
  const { programBytes, pageBytes } = type.flash
  const boot = makeRegion('boot', BOOT_PAGES * pageBytes, pageBytes)
  boot.octets.set(bootLoaderImage(1, boot.octets.length))
  return {
    program: makeRegion('program', programBytes, pageBytes),
    record: makeRegion('record', RECORD_PAGES * pageBytes, pageBytes),
    boot,
    dead: undefined,
  }
}

/** Puts an image there as the factory or an earlier update did. */
export function install(
  memory: ReceiverMemory,
  payload: Uint8Array,
  record: Omit<ImageRecord, 'count' | 'length' | 'crc32'>,
): void {
  memory.program.octets.set(payload, 0)
  memory.record.octets.set(
    encodeRecord({ ...record, count: 1, length: payload.length, crc32: crc32(payload) }),
    0,
  )
}

/** The records that are readable, the newer one first, with the page each lies in. */
export function recordsOf(memory: ReceiverMemory): { page: number; record: ImageRecord }[] {
  const { octets, pageBytes } = memory.record
  const found: { page: number; record: ImageRecord }[] = []
  for (let page = 0; page < RECORD_PAGES; page++) {
    const record = decodeRecord(octets.subarray(page * pageBytes, (page + 1) * pageBytes))
    if (record) found.push({ page, record })
  }
  return found.sort((a, b) => b.record.count - a.record.count)
}

/** The record that follows the newest one, and the page in which it replaces the older one. */
export function nextRecord(
  memory: ReceiverMemory,
  record: Omit<ImageRecord, 'count'>,
): { page: number; octets: Uint8Array } {
  const [newest] = recordsOf(memory)
  return {
    page: newest === undefined ? 0 : (newest.page + 1) % RECORD_PAGES,
    octets: encodeRecord({ ...record, count: (newest?.record.count ?? 0) + 1 }),
  }
}

/** What the boot loader would start: the newest record whose image has the length and CRC-32 that it states. */
export function startable(memory: ReceiverMemory): ImageRecord | undefined {
  const { octets } = memory.program
  for (const { record } of recordsOf(memory))
    if (
      record.length > 0 &&
      record.length <= octets.length &&
      crc32(octets, 0, record.length) === record.crc32
    )
      return record
  return undefined
}

export function identityOf(
  type: ReceiverType,
  memory: ReceiverMemory,
  inBootLoader: boolean,
  writeOctets: number,
): Identity {
  const record = startable(memory)
  return {
    inBootLoader,
    typeCode: typeCode(type.id),
    firmware: record?.version ?? { major: 0, minor: 0, patch: 0 },
    generation: record?.generation ?? 0,
    pageBytes: type.flash.pageBytes,
    programPages: type.flash.programBytes / type.flash.pageBytes,
    writeOctets,
  }
}
