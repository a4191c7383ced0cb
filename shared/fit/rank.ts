import SemVer from 'semver/classes/semver.js'
import type { Bench } from '../model/bench.ts'
import { isKnown, type Route } from '../model/units.ts'
import { findingsByRule, findingsOfAll, imagesOf } from './many.ts'
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

/** What the rules that can block come to for each of many images, without the reasons. */
export interface Standing {
  readonly verdicts: readonly Verdict[]
  /** Rules left, over all the images, that something not known keeps from being decided. */
  readonly undecidedRules: number
}

/**
 * For questions, whose every answer is tried on all images: many answers come to the same, and what they come to is
 * worked out once. The images are sorted once, and good for every answer.
 * @returns for a situation, whose image is not looked at, how the images stand in it
 */
export function standings(facts: readonly ImageFacts[]): (s: Situation) => Standing {
  const images = imagesOf(facts)
  const known = new Map<string, Standing>()
  return s => {
    const marked = findingsByRule(s, images, BLOCKING).map(({ of, found }) => ({
      of,
      marks: found.map(f => (f === undefined || f.holds === 'yes' ? 0 : f.holds === 'unknown' ? 1 : 2)),
    }))
    const key = marked.map(({ marks }) => marks.join('')).join()
    const standing = known.get(key) ?? standingOf(facts.length, marked)
    known.set(key, standing)
    return standing
  }
}

function standingOf(
  count: number,
  marked: readonly { readonly of: Uint32Array; readonly marks: readonly number[] }[],
): Standing {
  const worst = new Uint8Array(count)
  let undecidedRules = 0
  for (const { of, marks } of marked) {
    if (marks.every(mark => mark === 0)) continue
    for (let i = 0; i < count; i++) {
      const mark = marks[of[i]]
      if (mark === 1) undecidedRules++
      if (mark > worst[i]) worst[i] = mark
    }
  }
  return { verdicts: Array.from(worst, mark => VERDICTS[mark]), undecidedRules }
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
