import { descending } from './order.ts'
import type { Readings, System } from './system.ts'
import { MOST_FAULTS } from './system.ts'
import { type Weighed, weigh } from './weigh.ts'

/** One set of causes that may be all that is wrong, and how likely that is. */
export interface Suspicion {
  /** Cause ids in the order of the system. */
  readonly members: readonly string[]
  /** Probability that exactly these are present, among all sets of at most three that explain the symptom. */
  readonly likelihood: number
  /** Ids of facts that somebody must have misread if it is these. */
  readonly doubts: readonly string[]
}

/**
 * All sets of at most `mostFaults` causes that explain the symptom, the likeliest first. Bayes' rule with independent
 * causes and independent misreadings: prior odds times the probability of each reading.
 * @returns an empty list where no set of this size explains the symptom
 */
export function suspicions(system: System, readings: Readings, mostFaults = MOST_FAULTS): Suspicion[] {
  const { members, logs, doubts } = withoutRepaired(weigh(system, readings, mostFaults), system.repaired)
  const likelihoods = likelihoodsOf(logs)
  const byName = (a: number, b: number) => (members[a].join() < members[b].join() ? -1 : 1)
  const sorted: Suspicion[] = []
  for (const i of descending(likelihoods, byName))
    sorted.push({ members: members[i], likelihood: likelihoods[i], doubts: doubts[i] })
  return sorted
}

/** Scaled so that they sum to 1. */
function likelihoodsOf(logs: readonly number[]): Float64Array {
  const most = logs.reduce((high, log) => Math.max(high, log), Number.NEGATIVE_INFINITY)
  const likelihoods = new Float64Array(logs.length)
  let total = 0
  for (let i = 0; i < logs.length; i++) {
    likelihoods[i] = Math.exp(logs[i] - most)
    total += likelihoods[i]
  }
  for (let i = 0; i < logs.length; i++) likelihoods[i] /= total
  return likelihoods
}

/** What was put right is not suspected any more; sets that differ only by it are one. */
function withoutRepaired(weighed: Weighed, repaired: readonly string[] = []): Weighed {
  if (repaired.length === 0) return weighed
  const place = new Map<string, number>()
  const merged = { members: [] as string[][], logs: [] as number[], doubts: [] as (readonly string[])[] }
  weighed.members.forEach((all, i) => {
    const members = all.filter(id => !repaired.includes(id))
    const [log, doubts] = [weighed.logs[i], weighed.doubts[i]]
    const at = place.get(members.join())
    if (at === undefined) {
      place.set(members.join(), merged.members.push(members) - 1)
      merged.logs.push(log)
      merged.doubts.push(doubts)
      return
    }
    const before = merged.logs[at]
    if (log > before) merged.doubts[at] = doubts
    merged.logs[at] = Math.max(log, before) + Math.log1p(Math.exp(-Math.abs(log - before)))
  })
  return merged
}
