import { md5 } from '@noble/hashes/legacy.js'
import { ADDRESS_SPACE, endOf, type Segment, sayAddress } from './segments.ts'
import {
  alignUp,
  UF2_BLOCK_BYTES,
  UF2_DATA_OFFSET,
  UF2_FLAGS,
  UF2_MAGIC,
  UF2_MOST_PAYLOAD,
  type Uf2Tag,
} from './uf2-block.ts'

/** Writes UF2 after the README of the Microsoft UF2 specification. */

export interface Uf2WriteOptions {
  /** Octets in a block, a multiple of 4 up to 476; 256 unless given, which every boot loader takes. */
  readonly payloadOctets?: number
  /** 0..0xffffffff */
  readonly familyId?: number
  /** Put into the first block; they have to fit beside its payload. */
  readonly tags?: readonly Uf2Tag[]
  /** Whether each block carries the MD5 sum of the segment that it is part of. */
  readonly md5?: boolean
}

const MD5_OFFSET = UF2_BLOCK_BYTES - 4 - 24

/**
 * The file's octets; what is left of a block is FF.
 * @param segments not overlapping; written in the order given, no block over the end of one
 * @throws RangeError for a payload length, an address or tags that do not fit
 */
export function writeUf2(segments: readonly Segment[], options: Uf2WriteOptions = {}): Uint8Array {
  const { payloadOctets = 256, familyId, tags = [] } = options
  const room = options.md5 ? MD5_OFFSET - UF2_DATA_OFFSET : UF2_MOST_PAYLOAD
  if (
    !Number.isInteger(payloadOctets) ||
    payloadOctets < 4 ||
    payloadOctets % 4 !== 0 ||
    payloadOctets > room
  )
    throw new RangeError(`blocks with ${payloadOctets} octets`)
  const pieces = segments.flatMap(segment => cut(segment, payloadOctets))
  const file = new Uint8Array(pieces.length * UF2_BLOCK_BYTES)
  const sums = new Map(options.md5 ? segments.map(s => [s, md5(s.octets)] as const) : [])
  const flags = (familyId === undefined ? 0 : UF2_FLAGS.familyId) | (options.md5 === true ? UF2_FLAGS.md5 : 0)
  pieces.forEach(({ segment, from, octets }, number) => {
    const block = file.subarray(number * UF2_BLOCK_BYTES, (number + 1) * UF2_BLOCK_BYTES).fill(0xff)
    const tagged = number === 0 && tags.length > 0
    const view = new DataView(block.buffer, block.byteOffset)
    const words = [
      ...UF2_MAGIC.slice(0, 2),
      flags | (tagged ? UF2_FLAGS.tags : 0),
      segment.address + from,
      octets.length,
      number,
      pieces.length,
      familyId ?? 0,
    ]
    words.forEach((word, i) => view.setUint32(4 * i, word, true))
    block.set(octets, UF2_DATA_OFFSET)
    if (tagged) putTags(block.subarray(UF2_DATA_OFFSET, UF2_DATA_OFFSET + room), octets.length, tags)
    if (options.md5) {
      view.setUint32(MD5_OFFSET, segment.address, true)
      view.setUint32(MD5_OFFSET + 4, segment.octets.length, true)
      block.set(sums.get(segment) as Uint8Array, MD5_OFFSET + 8)
    }
    view.setUint32(UF2_BLOCK_BYTES - 4, UF2_MAGIC[2], true)
  })
  return file
}

function cut(segment: Segment, length: number): { segment: Segment; from: number; octets: Uint8Array }[] {
  if (!Number.isInteger(segment.address) || segment.address < 0 || endOf(segment) > ADDRESS_SPACE)
    throw new RangeError(`${sayAddress(segment.address)} is out of reach`)
  return Array.from({ length: Math.ceil(segment.octets.length / length) }, (_, n) => ({
    segment,
    from: n * length,
    octets: segment.octets.subarray(n * length, (n + 1) * length),
  }))
}

function putTags(data: Uint8Array, from: number, tags: readonly Uf2Tag[]): void {
  let at = alignUp(from)
  for (const { type, octets } of tags) {
    const size = 4 + octets.length
    if (size > 0xfe || at + size > data.length)
      throw new RangeError('the extension tags do not fit the first block')
    data.set([size, type & 0xff, (type >> 8) & 0xff, (type >> 16) & 0xff], at)
    data.set(octets, at + 4)
    data.fill(0, at + size, Math.min(alignUp(at + size), data.length))
    at = alignUp(at + size)
  }
}
