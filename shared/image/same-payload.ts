import { sha256 } from '@noble/hashes/sha2.js'
import { toHex } from './digest.ts'
import { MAX_PAYLOAD_BYTES } from './intel-hex.ts'
import { ERASED, flatten, type Segment, spanOf } from './segments.ts'

/**
 * Recognises images that are the same but for what does not matter: the container, the octets that fill gaps, a
 * padded tail, the address of the first octet (which a raw file does not know).
 *
 * Fill is 00 or FF, the two values that erased memory and linkers leave. A first look compares payloadKey, which leaves
 * out every such octet; images that share a key are then compared octet by octet.
 */

/** A shorter run of 00 or FF may be data. Flash is programmed in words of up to 16 octets. */
export const LEAST_FILL_RUN = 16
const ZERO = 0x00

const isFill = (octet: number): boolean => octet === ZERO || octet === ERASED

/**
 * A digest of what is left of the payload when all octets 00 and FF are taken out, as 64 hexadecimal digits: equal
 * for images that comparePayloads finds alike, and hardly ever for others. Images of nothing but fill share one key.
 */
export function payloadKey(segments: readonly Segment[]): string {
  const hash = sha256.create()
  const kept = new Uint8Array(64 * 1024)
  let count = 0
  for (const { octets } of [...segments].sort((a, b) => a.address - b.address))
    for (const octet of octets) {
      if (isFill(octet)) continue
      kept[count++] = octet
      if (count < kept.length) continue
      hash.update(kept)
      count = 0
    }
  return toHex(hash.update(kept.subarray(0, count)).digest())
}

export type Likeness =
  /** The same octets at the same addresses. */
  | 'same'
  /** The same octets from the first to the last, but at another address. */
  | 'moved'
  /** One goes on with fill where the other ends. */
  | 'padded'
  /** Gaps or unused places are filled with other octets. */
  | 'refilled'
  | 'different'

export interface Comparison {
  readonly likeness: Likeness
  /** Also at another address, which is so between a raw file and one that knows its addresses. */
  readonly moved: boolean
  /** Octets in which the two differ, fill among them; for `different` up to the first that matters. */
  readonly differing: number
  /** For `different`: how far from the first octet the first octet lies that is data in one and not the same in the other. */
  readonly firstDifference?: number
}

const DIFFERENT: Comparison = { likeness: 'different', moved: false, differing: 0 }

/**
 * Compares two payloads. They are laid together by address, by their first octets, and by the first octets that are
 * no fill; the best fit counts.
 * @param a in rising order of address, not overlapping; likewise `b`. Images that reach over more than 8 MiB are only
 * alike if they are the same in every segment.
 */
export function comparePayloads(a: readonly Segment[], b: readonly Segment[]): Comparison {
  const [spanA, spanB] = [spanOf(a), spanOf(b)]
  if (spanA === undefined || spanB === undefined) return DIFFERENT
  if (sameSegments(a, b)) return { likeness: 'same', moved: false, differing: 0 }
  if (spanA.to - spanA.from > MAX_PAYLOAD_BYTES || spanB.to - spanB.from > MAX_PAYLOAD_BYTES) return DIFFERENT
  const flatA = flatten(a, spanA.from, spanA.to - spanA.from)
  const flatB = flatten(b, spanB.from, spanB.to - spanB.from)
  const byAddress = spanB.from - spanA.from
  const byContent = firstOfData(flatA) - firstOfData(flatB)
  const shifts = [...new Set([byAddress, 0, byContent])].filter(
    shift => shift < flatA.length && -shift < flatB.length,
  )
  let best: Comparison | undefined
  for (const shift of shifts) {
    const compared = { ...compareAt(flatA, flatB, shift), moved: shift !== byAddress }
    if (best === undefined || RANK[compared.likeness] < RANK[best.likeness]) best = compared
  }
  if (best === undefined) return DIFFERENT
  return best.likeness === 'same' && best.moved ? { ...best, likeness: 'moved' } : best
}

const RANK: Readonly<Record<Likeness, number>> = { same: 0, moved: 1, padded: 2, refilled: 3, different: 4 }

function sameSegments(a: readonly Segment[], b: readonly Segment[]): boolean {
  return (
    a.length === b.length &&
    a.every((s, i) => {
      const other = b[i]
      return (
        s.address === other.address &&
        s.octets.length === other.octets.length &&
        s.octets.every((octet, at) => octet === other.octets[at])
      )
    })
  )
}

const firstOfData = (octets: Uint8Array): number =>
  Math.max(
    octets.findIndex(octet => !isFill(octet)),
    0,
  )

/** Compares with the first octet of `b` at place `shift` of `a`; what lies outside one of them is erased there. */
function compareAt(a: Uint8Array, b: Uint8Array, shift: number): Omit<Comparison, 'moved'> {
  const from = Math.min(0, shift)
  const to = Math.max(a.length, b.length + shift)
  const inBoth = (at: number) => at >= Math.max(0, shift) && at < Math.min(a.length, b.length + shift)
  const ofA = (at: number) => (at >= 0 && at < a.length ? a[at] : ERASED)
  const ofB = (at: number) => (at >= shift && at < b.length + shift ? b[at - shift] : ERASED)
  let likeness: 'same' | 'padded' | 'refilled' = 'same'
  let differing = 0
  for (let at = from; at < to; at++) {
    const both = inBoth(at)
    if (ofA(at) === ofB(at) && both) continue
    differing++
    const unimportant =
      isFill(ofA(at)) && isFill(ofB(at)) && (both ? inRun(a, at) && inRun(b, at - shift) : true)
    if (!unimportant) return { likeness: 'different', differing, firstDifference: at - from }
    if (both) likeness = 'refilled'
    else if (likeness === 'same') likeness = 'padded'
  }
  return { likeness, differing }
}

/** Whether the octet at this place is one of LEAST_FILL_RUN or more like it. The search is short either way. */
function inRun(octets: Uint8Array, at: number): boolean {
  let run = 1
  for (let i = at - 1; i >= 0 && octets[i] === octets[at] && run < LEAST_FILL_RUN; i--) run++
  for (let i = at + 1; i < octets.length && octets[i] === octets[at] && run < LEAST_FILL_RUN; i++) run++
  return run >= LEAST_FILL_RUN
}

/** The comparison in one sentence for a person. */
export function sayComparison({ likeness, moved, differing }: Comparison): string {
  const place = moved ? ', for another address' : ''
  switch (likeness) {
    case 'same':
      return 'The same image.'
    case 'moved':
      return 'The same image, for another address; a raw file does not know its own.'
    case 'padded':
      return `The same image${place}, with ${differing} octets of padding more or fewer.`
    case 'refilled':
      return `The same image${place}; ${differing} octets of unused memory are filled otherwise.`
    case 'different':
      return 'Another image.'
  }
}
