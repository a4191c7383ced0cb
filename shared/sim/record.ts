import type { Version3 } from '../procedure/bus.ts'
import { crc32 } from '../wire/checksum.ts'

/**
 * What the boot loader keeps about the image it may start, in two pages that are written in turn: while one is being
 * replaced, the other still stands, so there is no moment at which a power cut loses both.
 */
export interface ImageRecord {
  /** Counts up with each update; the higher of two valid records is tried first. */
  readonly count: number
  readonly length: number
  readonly crc32: number
  readonly typeCode: number
  readonly version: Version3
  readonly sequenceNumber: number
  readonly generation: number
}

export const RECORD_BYTES = 40
export const RECORD_PAGES = 2
const MAGIC = 0x50_46_52_31

export function encodeRecord(record: ImageRecord): Uint8Array {
  const octets = new Uint8Array(RECORD_BYTES)
  const v = new DataView(octets.buffer)
  v.setUint32(0, MAGIC)
  v.setUint32(4, record.count)
  v.setUint32(8, record.length)
  v.setUint32(12, record.crc32)
  v.setUint32(16, record.typeCode)
  v.setUint16(20, record.version.major)
  v.setUint16(22, record.version.minor)
  v.setUint16(24, record.version.patch)
  v.setUint16(26, record.generation)
  v.setUint32(28, record.sequenceNumber)
  v.setUint32(36, crc32(octets, 0, 36))
  return octets
}

/** @returns undefined where the page holds no whole, undamaged record */
export function decodeRecord(octets: Uint8Array): ImageRecord | undefined {
  if (octets.length < RECORD_BYTES) return undefined
  const v = new DataView(octets.buffer, octets.byteOffset, octets.byteLength)
  if (v.getUint32(0) !== MAGIC || v.getUint32(36) !== crc32(octets, 0, 36)) return undefined
  return {
    count: v.getUint32(4),
    length: v.getUint32(8),
    crc32: v.getUint32(12),
    typeCode: v.getUint32(16),
    version: { major: v.getUint16(20), minor: v.getUint16(22), patch: v.getUint16(24) },
    generation: v.getUint16(26),
    sequenceNumber: v.getUint32(28),
  }
}
