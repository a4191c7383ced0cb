import type { Check } from './checksums.ts'
import type { Candidate, Place } from './device-flow.ts'
import type { Framer } from './frames.ts'
import { type Bound, type Match, type MatchTools, matchSend, NOTHING_BOUND } from './match.ts'
import type { Dialect } from './schema.ts'
import type { ExpectStep } from './schema-steps.ts'

/** Finding in what has arrived the message that an emulated receiver may hear next. */

export interface Message {
  readonly candidate: Candidate
  readonly bound: Bound
  /** Octets that are done with. */
  readonly end: number
}

export interface Hearing {
  readonly dialect: Dialect
  readonly checks: ReadonlyMap<string, Check>
  readonly framer: Framer | undefined
  /** What a capture held, as a number. */
  captured(name: string): number | undefined
  /** What the messages before it in the same request have said. */
  readonly bound: Bound
}

/** Octets held against one candidate. @param whole they are the body of a frame */
export function matchCandidate(candidate: Candidate, octets: Uint8Array, whole: boolean, h: Hearing): Match {
  const { block } = h.dialect
  const guards = candidate.way.guards.filter(({ when }) => when.of === 'length')
  const stated = guards.find(({ holds }) => holds)?.when.is
  const tools: MatchTools = {
    checks: h.checks,
    captured: name => h.captured(name),
    usualLength: stated ?? (guards.length > 0 ? (block.short?.octets ?? block.octets) : block.octets),
  }
  const before = candidate.item > 0 ? h.bound : NOTHING_BOUND
  return matchSend(candidate.step.parts, octets, 0, whole, before, tools)
}

/** @returns the message that the octets begin with, whether more of one is to come, or that it is none */
export function nextBare(
  candidates: readonly Candidate[],
  octets: Uint8Array,
  h: Hearing,
): Message | 'more' | 'none' {
  let partly = false
  for (const candidate of candidates) {
    const match = matchCandidate(candidate, octets, false, h)
    if (match.is === 'yes') return { candidate, bound: match.bound, end: match.end }
    if (match.is !== 'partly') continue
    partly = true
    // In the middle of a request what could be its rest is its rest, and not the beginning of another one.
    if (candidate.midway) break
  }
  return partly ? 'more' : 'none'
}

/** The same inside frames; what is between them, and what nobody asked for, is passed over. */
export function nextFramed(
  candidates: readonly Candidate[],
  octets: Uint8Array,
  h: Hearing,
): Message | 'more' {
  const bare = findBare(
    candidates.filter(({ step }) => step.bare),
    octets,
    h,
  )
  if (bare !== undefined) return bare
  let found: Omit<Message, 'end'> | undefined
  const end = h.framer?.find(octets, body => {
    for (const candidate of candidates) {
      const match: Match | undefined = candidate.step.bare
        ? undefined
        : matchCandidate(candidate, body, true, h)
      if (match?.is !== 'yes') continue
      found = { candidate, bound: match.bound }
      return true
    }
    return false
  })
  return end === undefined || end === false || found === undefined ? 'more' : { ...found, end }
}

function findBare(candidates: readonly Candidate[], octets: Uint8Array, h: Hearing): Message | undefined {
  for (let from = 0; candidates.length > 0 && from < octets.length; from++)
    for (const candidate of candidates) {
      const match = matchCandidate(candidate, octets.subarray(from), false, h)
      if (match.is === 'yes') return { candidate, bound: match.bound, end: from + match.end }
    }
  return undefined
}

/** Where it says that it did not understand: at the first message that could have been meant. */
export function complaintOf(
  candidates: readonly Candidate[],
): { readonly step: ExpectStep; readonly place: Place } | undefined {
  for (const place of candidates) {
    const next = place.way.items.slice(place.item + 1).find(item => 'say' in item)
    if (next !== undefined && 'say' in next && next.say.replies.length > 0) return { step: next.say, place }
  }
  return undefined
}
