import { endOf, payloadBytesOf, type Segment } from '../../shared/image/segments.ts'

/** How large a receiver's program flash is, guessed from an image that was made for it. */
export interface FlashGuess {
  readonly programAddress: number
  readonly programBytes: number
  /** Octets of the image that lie outside, far from the rest. */
  readonly outsideBytes: number
}

export const PAGE_BYTES = 1024
const LEAST_BYTES = 64 * 1024
const MOST_BYTES = 8 * 1024 * 1024
const ADDRESS_SPACE = 2 ** 32
/** Pieces further apart than this do not lie in one flash: settings, fuses and the like have addresses of their own. */
const FAR_APART_BYTES = 1024 * 1024

/**
 * From the lowest address, rounded down to a page, as many octets as the image reaches, rounded up to a power of two,
 * 64 KiB..8 MiB. Where pieces lie far apart, the largest group of pieces counts.
 * @param segments in rising order of address
 */
export function guessFlash(segments: readonly Segment[]): FlashGuess {
  const main = largestGroup(segments)
  if (main.length === 0) return { programAddress: 0, programBytes: LEAST_BYTES, outsideBytes: 0 }
  const lowest = Math.floor(main[0].address / PAGE_BYTES) * PAGE_BYTES
  const reach = endOf(main[main.length - 1]) - lowest
  let programBytes = LEAST_BYTES
  while (programBytes < reach && programBytes < MOST_BYTES) programBytes *= 2
  const programAddress = Math.min(lowest, ADDRESS_SPACE - programBytes)
  const end = programAddress + programBytes
  const inside = main.reduce((sum, s) => sum + Math.max(0, Math.min(endOf(s), end) - s.address), 0)
  return { programAddress, programBytes, outsideBytes: payloadBytesOf(segments) - inside }
}

function largestGroup(segments: readonly Segment[]): readonly Segment[] {
  const groups: Segment[][] = []
  for (const segment of segments) {
    const last = groups.at(-1)
    const before = last?.at(-1)
    if (last !== undefined && before !== undefined && segment.address - endOf(before) <= FAR_APART_BYTES)
      last.push(segment)
    else groups.push([segment])
  }
  return groups.reduce<readonly Segment[]>(
    (best, group) => (payloadBytesOf(group) > payloadBytesOf(best) ? group : best),
    [],
  )
}
