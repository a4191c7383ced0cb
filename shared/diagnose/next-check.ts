import { type Suspicion, suspicions } from './likelihood.ts'
import { openShop, planRepairs, type Shop } from './repairs.ts'
import type { Reading, Readings, System, SystemFact } from './system.ts'

/**
 * What to do next: look at a fact, or repair. After Heckerman, Breese and Rommelse, Decision-Theoretic
 * Troubleshooting, Communications of the ACM 38 (3), 1995: the cost of a sequence of repairs is what is spent until the
 * symptom is gone, and looking first is worth what it saves on that, one look ahead.
 */
export interface Advice {
  readonly next:
    | { readonly do: 'look'; readonly fact: string; readonly again: boolean }
    | { readonly do: 'repair'; readonly causes: readonly string[] }
    /** Nothing that is known explains it, or nothing is left to do but to ask somebody else. */
    | { readonly do: 'ask' }
  /** Cost of repairing at once, in minutes, to be expected. */
  readonly repairMinutes: number
  /** What each look would save against that, its own cost taken off; the best first, those that hurt last. */
  readonly looks: readonly Look[]
}

export interface Look {
  readonly fact: string
  readonly savesMinutes: number
  /** Probability that it looks unsound. */
  readonly unsound: number
  readonly hurts: boolean
  /** True where it was read before. */
  readonly again: boolean
}

export interface AdviceOptions {
  /** What trying again after a repair costs. */
  readonly tryMinutes: number
  /** What it costs when no repair has helped: a new receiver, the maker's service. */
  readonly giveUpMinutes: number
  /** Facts that cannot be looked at, or that nobody wants to look at again. */
  readonly closed?: ReadonlySet<string>
  /** Causes that cannot be put right now: what has one of them in it is not repaired, however likely. */
  readonly putOff?: ReadonlySet<string>
  /** Facts that were read once, and may be looked at a second time; each look is misread for itself. */
  readonly again?: ReadonlySet<string>
}

export const usualCosts: AdviceOptions = { tryMinutes: 3, giveUpMinutes: 240 }

/** Sets that together hold this much of the likelihood decide; the rest changes no advice. */
const DECIDING = 0.995
const MOST_DECIDING = 120

/** @returns what to do next under these readings; the same for the same input */
export function advise(
  system: System,
  readings: Readings,
  options: AdviceOptions = usualCosts,
  known: readonly Suspicion[] = suspicions(system, readings),
): Advice {
  const likely = deciding(known)
  if (likely.length === 0) return { next: { do: 'ask' }, repairMinutes: options.giveUpMinutes, looks: [] }
  const shop = openShop(system, likely, options)
  const plan = planRepairs(
    shop,
    Float64Array.from(likely, ({ weight }) => weight),
  )
  const looks = system.facts
    .filter(fact => !readings.has(fact.id) || options.again?.has(fact.id))
    .filter(fact => !options.closed?.has(fact.id))
    .map(fact => ({ ...lookAt(fact, likely, shop, plan.minutes), again: readings.has(fact.id) }))
    .sort(
      (a, b) =>
        Number(a.hurts) - Number(b.hurts) || b.savesMinutes - a.savesMinutes || (a.fact < b.fact ? -1 : 1),
    )
  const best = looks.find(look => look.savesMinutes > 0)
  const next: Advice['next'] = best
    ? { do: 'look', fact: best.fact, again: best.again }
    : plan.first.length > 0
      ? { do: 'repair', causes: plan.first }
      : { do: 'ask' }
  return { next, repairMinutes: plan.minutes, looks }
}

export interface Weighted {
  readonly members: readonly string[]
  readonly weight: number
}

function deciding(known: readonly Suspicion[]): Weighted[] {
  const chosen: Weighted[] = []
  let sum = 0
  for (const { members, likelihood } of known) {
    if (sum >= DECIDING || chosen.length >= MOST_DECIDING) break
    chosen.push({ members, weight: likelihood })
    sum += likelihood
  }
  return scaled(chosen)
}

function scaled(sets: readonly Weighted[]): Weighted[] {
  const total = sets.reduce((sum, { weight }) => sum + weight, 0)
  return sets.map(({ members, weight }) => ({ members, weight: weight / total }))
}

function lookAt(
  fact: SystemFact,
  likely: readonly Weighted[],
  shop: Shop,
  nowMinutes: number,
): Omit<Look, 'again'> {
  const shows = new Set(fact.shows)
  const isUnsound = likely.map(({ members }) => members.some(id => shows.has(id)))
  const weights = new Float64Array(likely.length)
  const after = (reading: Reading) => {
    const wanted = reading === 'unsound'
    let probability = 0
    for (let i = 0; i < likely.length; i++) {
      weights[i] = likely[i].weight * (isUnsound[i] === wanted ? 1 - fact.misread : fact.misread)
      probability += weights[i]
    }
    if (probability === 0) return { probability, minutes: 0 }
    for (let i = 0; i < likely.length; i++) weights[i] /= probability
    return { probability, minutes: planRepairs(shop, weights).minutes }
  }
  const unsound = after('unsound')
  const sound = after('sound')
  const then = unsound.probability * unsound.minutes + sound.probability * sound.minutes
  return {
    fact: fact.id,
    savesMinutes: nowMinutes - then - fact.minutes,
    // Sums of probabilities may pass 1 by a rounding.
    unsound: Math.min(1, unsound.probability),
    hurts: fact.hurts,
  }
}
