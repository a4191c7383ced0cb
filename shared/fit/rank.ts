import SemVer from 'semver/classes/semver.js'
import type { Bench } from '../model/bench.ts'
import { isKnown, type Route } from '../model/units.ts'
import { findingsByRule, findingsOfAll, type Images, imagesOf } from './many.ts'
import type { Finding } from './rule.ts'
import { RULES } from './rules.ts'
import { type ImageFacts, type Situation, situationOf } from './situation.ts'
import { untypedFindings } from './untyped.ts'

/** Which image fits this receiver best, and why. */

export interface Candidate {
  readonly id: string
  readonly name: string
  readonly facts: ImageFacts
}

export type Verdict = 'fits' | 'not-known' | 'does-not-fit'

export interface Ranked {
  readonly candidate: Candidate
  /** `fits` only when every rule that can block holds; what is not known is never treated as fine. */
  readonly verdict: Verdict
  readonly findings: readonly Finding[]
}

/** From the best to the worst. */
const VERDICTS: readonly Verdict[] = ['fits', 'not-known', 'does-not-fit']
const BLOCKING = RULES.filter(rule => rule.severity === 'block')

/** What the findings come to, by the rules that can block. */
export function verdictOf(found: readonly Finding[]): Verdict {
  let verdict: Verdict = 'fits'
  for (const f of found) {
    if (f.rule.severity !== 'block') continue
    if (f.holds === 'no') return 'does-not-fit'
    if (f.holds === 'unknown') verdict = 'not-known'
  }
  return verdict
}

/**
 * What the rules that can block come to for each of the images, without the reasons: for questions, whose every answer
 * is tried on all of them.
 * @param s its image is not looked at
 */
export function verdictsOf(s: Situation, images: Images): Verdict[] {
  const worst = new Uint8Array(images.facts.length)
  for (const { of, found } of findingsByRule(s, images, BLOCKING)) {
    const marks = found.map(f => (f === undefined || f.holds === 'yes' ? 0 : f.holds === 'unknown' ? 1 : 2))
    for (let i = 0; i < worst.length; i++) if (marks[of[i]] > worst[i]) worst[i] = marks[of[i]]
  }
  return Array.from(worst, mark => VERDICTS[mark])
}

/** What an image is ranked by, read from its findings once. */
interface Ranks {
  readonly ranked: Ranked
  /** Verdict, broken rules, unknown ones, conversion or not, warnings: the first that differs decides, less is better. */
  readonly marks: readonly number[]
  readonly version: SemVer | undefined
}

function marksOf(verdict: Verdict, found: readonly Finding[], facts: ImageFacts): number[] {
  let [broken, unknown, warnings] = [0, 0, 0]
  for (const { holds, rule } of found) {
    if (holds === 'no' && rule.severity === 'block') broken++
    // Most makers sign nothing: an older image is not the better one for being of the bench's own making.
    else if (holds === 'no' && rule.id !== 'image-signed') warnings++
    else if (holds === 'unknown' && rule.severity === 'block') unknown++
  }
  return [VERDICTS.indexOf(verdict), broken, unknown, Number(facts.convertsFrom !== undefined), warnings]
}

/** The newer first, by version where both are known, by sequence number otherwise. */
function newerFirst(a: Ranks, b: Ranks): number {
  if (a.version !== undefined && b.version !== undefined) return b.version.compare(a.version)
  const [left, right] = [a.ranked.candidate.facts.sequenceNumber, b.ranked.candidate.facts.sequenceNumber]
  if (isKnown(left) && isKnown(right)) return right - left
  return Number(b.version !== undefined) - Number(a.version !== undefined)
}

/** Of two that are else alike, the one that a trusted key vouches for. */
const signedFirst = (a: Ranks, b: Ranks): number =>
  Number(b.ranked.candidate.facts.signature === 'good') -
  Number(a.ranked.candidate.facts.signature === 'good')

function better(a: Ranks, b: Ranks): number {
  for (let i = 0; i < a.marks.length; i++) {
    const by = a.marks[i] - b.marks[i]
    if (by !== 0) return by
  }
  return newerFirst(a, b) || signedFirst(a, b) || (a.ranked.candidate.id < b.ranked.candidate.id ? -1 : 1)
}

/** Reading a version takes longer than comparing two. */
function versionReader(): (version: ImageFacts['version']) => SemVer | undefined {
  const read = new Map<string, SemVer>()
  return version => {
    if (!isKnown(version)) return undefined
    const before = read.get(version)
    if (before !== undefined) return before
    const parsed = new SemVer(version)
    read.set(version, parsed)
    return parsed
  }
}

/** @returns undefined when the receiver, or the type that it is said to be, is not on the bench */
function findingsFor(
  bench: Bench,
  receiverId: string,
  route: Route,
  images: readonly ImageFacts[],
): readonly (readonly Finding[])[] | undefined {
  const receiver = bench.receivers.find(r => r.id === receiverId)
  if (receiver && !isKnown(receiver.typeId)) return untypedFindings(bench, receiver, route, images)
  const situation = situationOf(bench, receiverId, route, undefined)
  return situation && findingsOfAll(situation, imagesOf(images))
}

/**
 * All candidates, the best first: fewest broken rules, then fewest unknown, then those that convert nothing, then
 * those with fewest warnings, then the newest, then those that a trusted key vouches for. For a receiver whose type is not known nothing fits, and what fits none of
 * the types that it may be of does not.
 * @returns undefined when the receiver is not on the bench
 */
export function rankImages(
  bench: Bench,
  receiverId: string,
  route: Route,
  candidates: readonly Candidate[],
): Ranked[] | undefined {
  const all = findingsFor(
    bench,
    receiverId,
    route,
    candidates.map(c => c.facts),
  )
  if (all === undefined) return undefined
  const versionOf = versionReader()
  const ranks = candidates.map((candidate, i): Ranks => {
    const verdict = verdictOf(all[i])
    return {
      ranked: { candidate, verdict, findings: all[i] },
      marks: marksOf(verdict, all[i], candidate.facts),
      version: versionOf(candidate.facts.version),
    }
  })
  return ranks.sort(better).map(r => r.ranked)
}
