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
  const weighed = weigh(compile(system, readings), mostFaults)
  const most = weighed.reduce((high, { log }) => Math.max(high, log), Number.NEGATIVE_INFINITY)
  const likely = weighed.filter(({ log }) => log > most - NEGLIGIBLE)
  const total = likely.reduce((sum, { log }) => sum + Math.exp(log - most), 0)
  return likely
    .map(({ members, log, doubts }) => ({ members, likelihood: Math.exp(log - most) / total, doubts }))
    .sort((a, b) => b.likelihood - a.likelihood || (a.members.join() < b.members.join() ? -1 : 1))
}

interface Compiled {
  readonly causes: readonly { readonly id: string; readonly logOdds: number; readonly explains: boolean }[]
  readonly facts: readonly { readonly id: string; readonly unsound: boolean; readonly log: LogMisread }[]
  /** For each cause, which of the facts it shows in: 1 or 0. */
  readonly effects: readonly Uint8Array[]
}
interface LogMisread {
  readonly right: number
  readonly wrong: number
}

function compile(system: System, readings: Readings): Compiled {
  const excluded = new Set(system.symptom.excludes)
  const explains = new Set(system.symptom.shows)
  const causes = system.causes
    .filter(({ id }) => !excluded.has(id))
    .map(({ id, prior }) => ({ id, logOdds: Math.log(prior / (1 - prior)), explains: explains.has(id) }))
  const read = system.facts.filter(fact => readings.has(fact.id))
  const facts = read.map(({ id, misread }) => {
    const wrong = Math.max(LEAST_MISREAD, misread)
    const log = { right: Math.log(1 - wrong), wrong: Math.log(wrong) }
    return { id, unsound: readings.get(id) === 'unsound', log }
  })
  const shown = read.map(fact => new Set(fact.shows))
  const effects = causes.map(({ id }) => Uint8Array.from(shown, set => Number(set.has(id))))
  return { causes, facts, effects }
}

interface Weighed {
  readonly members: readonly string[]
  readonly log: number
  readonly doubts: readonly string[]
}

function weigh({ causes, facts, effects }: Compiled, mostFaults: number): Weighed[] {
  const weighed: Weighed[] = []
  const visit = (from: number, chosen: readonly number[], seen: Uint8Array, log: number) => {
    for (let i = from; i < causes.length; i++) {
      const members = [...chosen, i]
      const now = effects[i].map((effect, f) => effect | seen[f])
      const odds = log + causes[i].logOdds
      if (members.some(m => causes[m].explains)) {
        const wrong = facts.map((fact, f) => (now[f] === 1) !== fact.unsound)
        const read = facts.reduce((sum, fact, f) => sum + (wrong[f] ? fact.log.wrong : fact.log.right), 0)
        const doubts = facts.filter((_, f) => wrong[f]).map(({ id }) => id)
        weighed.push({ members: members.map(m => causes[m].id), log: odds + read, doubts })
      }
      if (members.length < mostFaults) visit(i + 1, members, now, odds)
    }
  }
  visit(0, [], new Uint8Array(facts.length), 0)
  return weighed
}

/**
 * The sets worth telling a person: no member can be left out without having to doubt one reading more. Where no
 * reading is doubted these are the minimal causes. Each takes over the likelihood of the sets that only add to it.
 * @param all as `suspicions` gives them
 */
export function worthTelling(all: readonly Suspicion[]): Suspicion[] {
  const bySize = [...all].sort((a, b) => a.members.length - b.members.length)
  const kept: { suspicion: Suspicion; likelihood: number }[] = []
  for (const suspicion of bySize) {
    const doubts = new Set(suspicion.doubts)
    const inside = kept.filter(
      k =>
        k.suspicion.members.length < suspicion.members.length &&
        k.suspicion.members.every(id => suspicion.members.includes(id)) &&
        k.suspicion.doubts.every(id => doubts.has(id)),
    )
    if (inside.length === 0) {
      kept.push({ suspicion, likelihood: suspicion.likelihood })
      continue
    }
    // What only adds to several of them speaks for the likeliest.
    inside.sort((a, b) => b.suspicion.likelihood - a.suspicion.likelihood)[0].likelihood +=
      suspicion.likelihood
  }
  return kept
    .map(({ suspicion, likelihood }) => ({ ...suspicion, likelihood }))
    .sort((a, b) => b.likelihood - a.likelihood || (a.members.join() < b.members.join() ? -1 : 1))
}
