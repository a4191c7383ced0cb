import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'

/** A run of octets that belongs at one address. */
export interface Segment {
  /** 0..0xffffffff; the last octet may not lie above 0xffffffff either. */
  readonly address: number
  readonly octets: Uint8Array
}

export const ADDRESS_SPACE = 2 ** 32
/** Erased flash reads FF, so FF is what gaps are filled with. */
export const ERASED = 0xff

export const endOf = (segment: Segment): number => segment.address + segment.octets.length

const inOrder = (segments: readonly Segment[]): Segment[] =>
  segments.filter(s => s.octets.length > 0).sort((a, b) => a.address - b.address)

/** An address as people write it: 0x and at least four digits, `0x08004000`. */
export const sayAddress = (address: number): string =>
  `0x${address
    .toString(16)
    .toUpperCase()
    .padStart(address > 0xffff ? 8 : 4, '0')}`

/** Octets that two segments claim both. */
export interface Overlap {
  readonly from: number
  /** First address after it. */
  readonly to: number
  /** Both say the same there. */
  readonly same: boolean
}

/** Each place where a segment reaches into what the ones before it (by address) have covered. */
export function overlaps(segments: readonly Segment[]): Overlap[] {
  const found: Overlap[] = []
  const open: Segment[] = []
  for (const segment of inOrder(segments)) {
    for (const other of open) {
      const from = segment.address
      const to = Math.min(endOf(other), endOf(segment))
      if (from < to) found.push({ from, to, same: sameOctets(segment, other, from, to) })
    }
    open.push(segment)
    while (open.length > 0 && endOf(open[0]) <= segment.address) open.shift()
  }
  return found
}

function sameOctets(a: Segment, b: Segment, from: number, to: number): boolean {
  for (let at = from; at < to; at++) if (a.octets[at - a.address] !== b.octets[at - b.address]) return false
  return true
}

/**
 * Sorts segments by address and joins those that touch or overlap.
 * @returns segments in rising order with gaps between them, or `image.conflict` where two say different things
 * about one address
 */
export function mergeSegments(segments: readonly Segment[]): Result<Segment[]> {
  const conflicts: Problem[] = overlaps(segments)
    .filter(o => !o.same)
    .slice(0, 20)
    .map(o => ({
      code: 'image.conflict',
      message: `Two parts of the image say different things about ${sayAddress(o.from)} to ${sayAddress(o.to - 1)}.`,
      remedy: 'Get the image file again from where it came from.',
    }))
  if (conflicts.length > 0) return failed(...conflicts)
  const runs: { from: number; to: number; parts: Segment[] }[] = []
  for (const segment of inOrder(segments)) {
    const last = runs.at(-1)
    if (last !== undefined && segment.address <= last.to) {
      last.parts.push(segment)
      last.to = Math.max(last.to, endOf(segment))
    } else runs.push({ from: segment.address, to: endOf(segment), parts: [segment] })
  }
  return succeeded(
    runs.map(({ from, to, parts }) => {
      if (parts.length === 1) return parts[0]
      const octets = new Uint8Array(to - from)
      for (const part of parts) octets.set(part.octets, part.address - from)
      return { address: from, octets }
    }),
  )
}

/** Lowest address and the first address after the highest; undefined where there is no octet at all. */
export function spanOf(segments: readonly Segment[]): { from: number; to: number } | undefined {
  const some = segments.filter(s => s.octets.length > 0)
  if (some.length === 0) return undefined
  return {
    from: some.reduce((least, s) => Math.min(least, s.address), ADDRESS_SPACE),
    to: some.reduce((most, s) => Math.max(most, endOf(s)), 0),
  }
}

/** Octets in all segments together, gaps not counted. */
export const payloadBytesOf = (segments: readonly Segment[]): number =>
  segments.reduce((sum, s) => sum + s.octets.length, 0)

/** What lies between the segments: address and length of each gap, in order. */
export function gaps(segments: readonly Segment[]): { readonly address: number; readonly bytes: number }[] {
  const found: { address: number; bytes: number }[] = []
  let covered: number | undefined
  for (const segment of inOrder(segments)) {
    if (covered !== undefined && segment.address > covered)
      found.push({ address: covered, bytes: segment.address - covered })
    covered = Math.max(covered ?? 0, endOf(segment))
  }
  return found
}

/**
 * The memory from `base` on, `length` octets of it, as one array.
 * @param fill value of the octets that no segment covers
 * @throws RangeError when a segment lies outside; use splitByRange first
 */
export function flatten(
  segments: readonly Segment[],
  base: number,
  length: number,
  fill = ERASED,
): Uint8Array {
  const octets = new Uint8Array(length).fill(fill)
  for (const segment of segments) {
    if (segment.octets.length === 0) continue
    if (segment.address < base || endOf(segment) > base + length)
      throw new RangeError(
        `${sayAddress(segment.address)} lies outside ${sayAddress(base)} and ${length} octets`,
      )
    octets.set(segment.octets, segment.address - base)
  }
  return octets
}

/**
 * Parts the segments at a range of addresses, `from` up to but not including `to`. A segment that reaches over an
 * end of the range is cut there. Octets are shared with the segments given, not copied.
 */
export function splitByRange(
  segments: readonly Segment[],
  from: number,
  to: number,
): { inside: Segment[]; outside: Segment[] } {
  const inside: Segment[] = []
  const outside: Segment[] = []
  for (const segment of inOrder(segments)) {
    const cuts = [segment.address, from, to, endOf(segment)]
      .map(at => Math.min(Math.max(at, segment.address), endOf(segment)))
      .sort((a, b) => a - b)
    for (let i = 0; i < 3; i++) {
      if (cuts[i] === cuts[i + 1]) continue
      const part = {
        address: cuts[i],
        octets: segment.octets.subarray(cuts[i] - segment.address, cuts[i + 1] - segment.address),
      }
      if (part.address >= from && part.address < to) inside.push(part)
      else outside.push(part)
    }
  }
  return { inside, outside }
}
