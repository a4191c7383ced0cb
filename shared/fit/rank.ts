import compare from 'semver/functions/compare.js'
import type { Bench } from '../model/bench.ts'
import { isKnown, type Route } from '../model/units.ts'
import type { Finding } from './rule.ts'
import { findings } from './rules.ts'
import { type ImageFacts, situationOf } from './situation.ts'

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

const ORDER: Readonly<Record<Verdict, number>> = { fits: 0, 'not-known': 1, 'does-not-fit': 2 }

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

const count = (ranked: Ranked, holds: 'no' | 'unknown', severity: 'block' | 'warn') =>
  ranked.findings.filter(f => f.holds === holds && f.rule.severity === severity).length

/** The newer first, by version where both are known, by sequence number otherwise. */
function newerFirst(a: ImageFacts, b: ImageFacts): number {
  if (isKnown(a.version) && isKnown(b.version)) return compare(b.version, a.version)
  if (isKnown(a.sequenceNumber) && isKnown(b.sequenceNumber)) return b.sequenceNumber - a.sequenceNumber
  return Number(isKnown(b.version)) - Number(isKnown(a.version))
}

function better(a: Ranked, b: Ranked): number {
  return (
    ORDER[a.verdict] - ORDER[b.verdict] ||
    count(a, 'no', 'block') - count(b, 'no', 'block') ||
    count(a, 'unknown', 'block') - count(b, 'unknown', 'block') ||
    Number(a.candidate.facts.convertsFrom !== undefined) -
      Number(b.candidate.facts.convertsFrom !== undefined) ||
    count(a, 'no', 'warn') - count(b, 'no', 'warn') ||
    newerFirst(a.candidate.facts, b.candidate.facts) ||
    (a.candidate.id < b.candidate.id ? -1 : 1)
  )
}

/**
 * All candidates, the best first: fewest broken rules, then fewest unknown, then those that convert nothing, then
 * those with fewest warnings, then the newest.
 * @returns undefined when the receiver is not on the bench
 */
export function rankImages(
  bench: Bench,
  receiverId: string,
  route: Route,
  candidates: readonly Candidate[],
): Ranked[] | undefined {
  const situation = situationOf(bench, receiverId, route, undefined)
  if (situation === undefined) return undefined
  return candidates
    .map((candidate): Ranked => {
      const found = findings({ ...situation, image: candidate.facts })
      return { candidate, verdict: verdictOf(found), findings: found }
    })
    .sort(better)
}
