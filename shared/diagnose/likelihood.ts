import type { Readings, System } from './system.ts'
import { MOST_FAULTS } from './system.ts'

/** One set of causes that may be all that is wrong, and how likely that is. */
export interface Suspicion {
  /** Cause ids in the order of the system. */
  readonly members: readonly string[]
  /** Probability that exactly these are present, among all sets of at most three that explain the symptom. */
  readonly likelihood: number
  /** Ids of facts that somebody must have misread if it is these. */
  readonly doubts: readonly string[]
}

/** A reading that is never misread would make one mistake impossible to recover from. */
const LEAST_MISREAD = 1e-4

/** Natural logarithm of how much less likely than the likeliest a set may be and still be told: about 1 in 10^10. */
const NEGLIGIBLE = 23

/**
 * All sets of at most `mostFaults` causes that explain the symptom, the likeliest first. Bayes' rule with independent
 * causes and independent misreadings: prior odds times the probability of each reading.
 * @returns an empty list where no set of this size explains the symptom
 */
export function suspicions(system: System, readings: Readings, mostFaults = MOST_FAULTS): Suspicion[] {
  const likely = withoutRepaired(weigh(compile(system, readings), mostFaults), system.repaired)
  const most = likely.reduce((high, { log }) => Math.max(high, log), Number.NEGATIVE_INFINITY)
  const total = likely.reduce((sum, { log }) => sum + Math.exp(log - most), 0)
  return likely
    .map(({ members, log, doubts }) => ({ members, likelihood: Math.exp(log - most) / total, doubts }))
    .sort((a, b) => b.likelihood - a.likelihood || (a.members.join() < b.members.join() ? -1 : 1))
}

/** Facts are taken eight at a time: what each pattern of wrong readings weighs is looked up. */
const LANE = 8

/** What was put right is not suspected any more; sets that differ only by it are one. */
function withoutRepaired(weighed: readonly Weighed[], repaired: readonly string[] = []): readonly Weighed[] {
  if (repaired.length === 0) return weighed
  const merged = new Map<string, Weighed>()
  for (const one of weighed) {
    const members = one.members.filter(id => !repaired.includes(id))
    const key = members.join()
    const same = merged.get(key)
    if (same === undefined) merged.set(key, { ...one, members })
    else {
      const [high, low] = same.log >= one.log ? [same, one] : [one, same]
      merged.set(key, {
        members,
        doubts: high.doubts,
        log: high.log + Math.log1p(Math.exp(low.log - high.log)),
      })
    }
  }
  return [...merged.values()]
}

interface Compiled {
  readonly causes: readonly { readonly id: string; readonly logOdds: number; readonly explains: boolean }[]
  readonly factIds: readonly string[]
  /** By lane: a bit is 1 where the fact was read as unsound. */
  readonly unsound: Uint8Array
  /** By lane, the logarithm of how likely the readings are, by the pattern of those that must be wrong. */
  readonly logOf: readonly Float64Array[]
  /** By cause and lane: a bit is 1 where the cause shows in the fact. */
  readonly effects: readonly Uint8Array[]
}

function compile(system: System, readings: Readings): Compiled {
  const excluded = new Set(system.symptom.excludes)
  const explains = new Set(system.symptom.shows.filter(id => !system.repaired?.includes(id)))
  const causes = system.causes
    .filter(({ id }) => !excluded.has(id))
    .map(({ id, prior }) => ({ id, logOdds: Math.log(prior / (1 - prior)), explains: explains.has(id) }))
  const read = system.facts.filter(fact => readings.has(fact.id))
  const shown = read.map(fact => new Set(fact.shows))
  return {
    causes,
    factIds: read.map(({ id }) => id),
    unsound: lanes(read.map(({ id }) => readings.get(id) === 'unsound')),
    logOf: Array.from({ length: Math.ceil(read.length / LANE) }, (_, lane) =>
      logOfPatterns(read.slice(lane * LANE, (lane + 1) * LANE).map(({ misread }) => misread)),
    ),
    effects: causes.map(({ id }) => lanes(shown.map(set => set.has(id)))),
  }
}

function lanes(bits: readonly boolean[]): Uint8Array {
  const packed = new Uint8Array(Math.ceil(bits.length / LANE))
  bits.forEach((bit, f) => {
    if (bit) packed[f >> 3] |= 1 << (f & 7)
  })
  return packed
}

function logOfPatterns(misreads: readonly number[]): Float64Array {
  const logs = misreads.map(misread => {
    const wrong = Math.max(LEAST_MISREAD, misread)
    return { right: Math.log(1 - wrong), wrong: Math.log(wrong) }
  })
  return Float64Array.from({ length: 1 << misreads.length }, (_, pattern) =>
    logs.reduce((sum, { right, wrong }, f) => sum + ((pattern >> f) & 1 ? wrong : right), 0),
  )
}

interface Weighed {
  readonly members: readonly string[]
  readonly log: number
  readonly doubts: readonly string[]
}

/** All sets that explain the symptom and are not negligible beside the likeliest. */
function weigh(compiled: Compiled, mostFaults: number): Weighed[] {
  const { causes, effects, unsound, logOf } = compiled
  const scored: { readonly chosen: Uint16Array; readonly log: number }[] = []
  // Thousands of sets are gone through: nothing is made anew for one that is not kept.
  const chosen = new Uint16Array(mostFaults)
  const seenAt = Array.from({ length: mostFaults + 1 }, () => new Uint8Array(logOf.length))
  let most = Number.NEGATIVE_INFINITY
  const visit = (depth: number, from: number, odds: number, explains: boolean) => {
    for (let i = from; i < causes.length; i++) {
      chosen[depth] = i
      const nowOdds = odds + causes[i].logOdds
      const nowExplains = explains || causes[i].explains
      let log = nowOdds
      for (let l = 0; l < logOf.length; l++) {
        seenAt[depth + 1][l] = seenAt[depth][l] | effects[i][l]
        log += logOf[l][seenAt[depth + 1][l] ^ unsound[l]]
      }
      if (nowExplains && log > most - NEGLIGIBLE) {
        scored.push({ chosen: chosen.slice(0, depth + 1), log })
        most = Math.max(most, log)
      }
      if (depth + 1 < mostFaults) visit(depth + 1, i + 1, nowOdds, nowExplains)
    }
  }
  visit(0, 0, 0, false)
  return scored
    .filter(({ log }) => log > most - NEGLIGIBLE)
    .map(({ chosen, log }) => ({
      members: Array.from(chosen, i => causes[i].id),
      log,
      doubts: doubtsOf(compiled, chosen),
    }))
}

function doubtsOf({ factIds, effects, unsound }: Compiled, chosen: Uint16Array): string[] {
  if (factIds.length === 0) return []
  const wrong = unsound.slice()
  for (let lane = 0; lane < wrong.length; lane++) {
    let seen = 0
    for (const i of chosen) seen |= effects[i][lane]
    wrong[lane] ^= seen
  }
  return factIds.filter((_, f) => ((wrong[f >> 3] >> (f & 7)) & 1) === 1)
}

/**
 * The sets worth telling a person: no member can be left out without having to doubt one reading more. Where no
 * reading is doubted these are the minimal causes. Each takes over the likelihood of the sets that only add to it.
 * @param all as `suspicions` gives them
 */
export function worthTelling(all: readonly Suspicion[]): Suspicion[] {
  const kept = new Map<string, Told>()
  const largest = all.reduce((most, { members }) => Math.max(most, members.length), 0)
  let largestKept = 0
  for (let size = 1; size <= largest; size++)
    for (const suspicion of all) {
      if (suspicion.members.length !== size) continue
      const inside = likeliestInside(suspicion, kept, largestKept)
      // What only adds to several of them speaks for the likeliest.
      if (inside) inside.likelihood += suspicion.likelihood
      else {
        kept.set(suspicion.members.join(), { suspicion, likelihood: suspicion.likelihood })
        largestKept = size
      }
    }
  return [...kept.values()]
    .map(({ suspicion, likelihood }) => ({ ...suspicion, likelihood }))
    .sort((a, b) => b.likelihood - a.likelihood || (a.members.join() < b.members.join() ? -1 : 1))
}

interface Told {
  readonly suspicion: Suspicion
  likelihood: number
}

/** Of what is told already, the likeliest that leaves members of this one out and doubts nothing that this does not. */
function likeliestInside(
  { members, doubts }: Suspicion,
  kept: ReadonlyMap<string, Told>,
  largestKept: number,
): Told | undefined {
  let likeliest: Told | undefined
  const consider = (part: string) => {
    const told = kept.get(part)
    if (told === undefined || !told.suspicion.doubts.every(id => doubts.includes(id))) return
    if (likeliest === undefined || told.suspicion.likelihood > likeliest.suspicion.likelihood)
      likeliest = told
  }
  if (members.length > 1) for (const id of members) consider(id)
  if (largestKept > 1)
    for (let mask = 1; mask < (1 << members.length) - 1; mask++) {
      const part = members.filter((_, i) => (mask >> i) & 1)
      if (part.length > 1 && part.length <= largestKept) consider(part.join())
    }
  return likeliest
}
