import { md5 } from '@noble/hashes/legacy.js'
import { toHex } from './digest.ts'
import { endOf, payloadBytesOf, type Segment, sayAddress } from './segments.ts'
import { UF2_FLAGS, UF2_TAGS, type Uf2Block, type Uf2Fault } from './uf2-block.ts'

/** What the blocks of a UF2 image say about the image: MD5 sums of regions, alignment, extension tags. */

export interface PlacedBlock {
  /** Place in the file, from 1. */
  readonly ordinal: number
  readonly block: Uf2Block
}

export interface Uf2Complaints {
  fault(fault: Uf2Fault, ordinal: number): void
  warn(fault: Uf2Fault, ordinal: number): void
}

const MOST_WRONG_SUMS = 20

export const forFlash = (block: Uf2Block): boolean => (block.flags & UF2_FLAGS.notMainFlash) === 0

/**
 * Checks the MD5 sums and looks for odd addresses. A region that the file does not give whole cannot be summed up,
 * and a file cannot have more summed up than twice its own octets.
 */
export function checkUf2Blocks(
  blocks: readonly PlacedBlock[],
  segments: readonly Segment[],
  say: Uf2Complaints,
): void {
  checkSums(blocks, segments, say)
  const odd = blocks.find(
    ({ block }) => forFlash(block) && (block.address % 4 !== 0 || block.payload.length % 4 !== 0),
  )
  if (odd !== undefined)
    say.warn(
      {
        code: 'uf2.alignment',
        message: 'The block’s address or length is no multiple of 4; some boot loaders refuse that.',
      },
      odd.ordinal,
    )
}

function checkSums(blocks: readonly PlacedBlock[], segments: readonly Segment[], say: Uf2Complaints): void {
  let octetsLeft = 2 * payloadBytesOf(segments)
  let wrong = 0
  const seen = new Set<string>()
  for (const { block, ordinal } of blocks) {
    if (block.md5 === undefined || !forFlash(block)) continue
    const { address, length } = block.md5
    const stated = toHex(block.md5.sum)
    const key = `${address} ${length} ${stated}`
    if (seen.has(key)) continue
    seen.add(key)
    const within = segments.find(s => s.address <= address && address + length <= endOf(s))
    const place = `the ${length} octets at ${sayAddress(address)}`
    if (within === undefined || length > octetsLeft) {
      say.warn(
        { code: 'uf2.md5-unchecked', message: `The MD5 sum over ${place} could not be checked.` },
        ordinal,
      )
      continue
    }
    octetsLeft -= length
    const from = address - within.address
    const actual = toHex(md5(within.octets.subarray(from, from + length)))
    if (actual === stated || wrong++ >= MOST_WRONG_SUMS) continue
    say.fault(
      {
        code: 'uf2.md5',
        message: `The MD5 sum of ${place} is ${actual}, and the block states another one.`,
        expected: stated,
        remedy: 'The file was damaged or cut off. Get it again from where it came from.',
      },
      ordinal,
    )
  }
}

export interface TagsSay {
  readonly version?: string
  readonly device?: string
  readonly pageBytes?: number
}

/** What the extension tags say; of a tag that is there several times the first counts. */
export function whatTagsSay(blocks: readonly PlacedBlock[]): TagsSay {
  const first = (type: number): Uint8Array | undefined => {
    for (const { block } of blocks) {
      const tag = block.tags.find(t => t.type === type)
      if (tag !== undefined) return tag.octets
    }
    return undefined
  }
  const text = (octets: Uint8Array | undefined) =>
    octets === undefined ? undefined : new TextDecoder('utf-8').decode(octets).replaceAll(/\p{Cc}/gu, '')
  const page = first(UF2_TAGS.pageBytes)
  const version = text(first(UF2_TAGS.version))
  const device = text(first(UF2_TAGS.device))
  return {
    ...(version === undefined ? {} : { version }),
    ...(device === undefined ? {} : { device }),
    ...(page?.length === 4
      ? { pageBytes: new DataView(page.buffer, page.byteOffset, 4).getUint32(0, true) }
      : {}),
  }
}
