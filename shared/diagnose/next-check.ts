import type { Suspicion } from './likelihood.ts'
import { suspicions } from './likelihood.ts'
import type { Reading, Readings, System, SystemFact } from './system.ts'

/**
 * What to do next: look at a fact, or repair. After Heckerman, Breese and Rommelse, Decision-Theoretic
 * Troubleshooting, Communications of the ACM 38 (3), 1995: the cost of a sequence of repairs is what is spent until the
 * symptom is gone, and looking first is worth what it saves on that, one look ahead.
 */
export interface Advice {
  readonly next:
    | { readonly do: 'look'; readonly fact: string }
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
}

export interface AdviceOptions {
  /** What trying again after a repair costs. */
  readonly tryMinutes: number
  /** What it costs when no repair has helped: a new receiver, the maker's service. */
  readonly giveUpMinutes: number
  /** Facts that cannot be looked at, or that nobody wants to look at again. */
  readonly closed?: ReadonlySet<string>
}

export const usualCosts: AdviceOptions = { tryMinutes: 3, giveUpMinutes: 240 }

/** Sets that together hold this much of the likelihood decide; the rest changes no advice. */
const DECIDING = 0.995
const MOST_DECIDING = 300

/** @returns what to do next under these readings; the same for the same input */
export function advise(
  system: System,
  readings: Readings,
  options: AdviceOptions = usualCosts,
  known: readonly Suspicion[] = suspicions(system, readings),
): Advice {
  const likely = deciding(known)
  if (likely.length === 0) return { next: { do: 'ask' }, repairMinutes: options.giveUpMinutes, looks: [] }
  const plan = planRepairs(system, likely, options)
  const looks = system.facts
    .filter(fact => !readings.has(fact.id) && !options.closed?.has(fact.id))
    .map(fact => lookAt(fact, system, likely, plan.minutes, options))
    .sort(
      (a, b) =>
        Number(a.hurts) - Number(b.hurts) || b.savesMinutes - a.savesMinutes || (a.fact < b.fact ? -1 : 1),
    )
  const best = looks.find(look => look.savesMinutes > 0)
  const next: Advice['next'] = best
    ? { do: 'look', fact: best.fact }
    : plan.first.length > 0
      ? { do: 'repair', causes: plan.first }
      : { do: 'ask' }
  return { next, repairMinutes: plan.minutes, looks }
}

interface Weighted {
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
  system: System,
  likely: readonly Weighted[],
  nowMinutes: number,
  options: AdviceOptions,
): Look {
  const shows = new Set(fact.shows)
  const after = (reading: Reading) => {
    const sets = likely.map(({ members, weight }) => {
      const isUnsound = members.some(id => shows.has(id))
      return {
        members,
        weight: weight * (isUnsound === (reading === 'unsound') ? 1 - fact.misread : fact.misread),
      }
    })
    const probability = sets.reduce((sum, { weight }) => sum + weight, 0)
    const minutes = probability > 0 ? planRepairs(system, scaled(sets), options).minutes : 0
    return { probability, minutes }
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

interface RepairPlan {
  /** Expected cost, in minutes. */
  readonly minutes: number
  readonly first: readonly string[]
}

/** Repairs are planned until this little is left, which is given up on. */
const LEFT_OVER = 0.002

/**
 * Repairs one set after the other, each time the one with the best ratio of what it cures to what it costs; after each
 * the update is tried again. A cause that was repaired stays repaired.
 */
function planRepairs(system: System, likely: readonly Weighted[], options: AdviceOptions): RepairPlan {
  const costOf = new Map(system.causes.map(({ id, repairMinutes }) => [id, repairMinutes]))
  const repaired = new Set<string>()
  let open: readonly Weighted[] = whatBringsItAbout(system, likely)
  let left = 1
  let minutes = 0
  let first: readonly string[] | undefined
  while (left > LEFT_OVER && open.length > 0) {
    const step = bestStep(open, repaired, costOf, options.tryMinutes)
    // Carried out only where nothing before has helped.
    minutes += left * step.cost
    first ??= step.causes
    for (const id of step.causes) repaired.add(id)
    open = open.filter(({ members }) => !members.every(id => repaired.has(id)))
    left = open.reduce((sum, { weight }) => sum + weight, 0)
  }
  return { minutes: minutes + left * options.giveUpMinutes, first: first ?? [] }
}

/** Of each set, the causes that bring the symptom about: with these repaired it is gone, whatever else is wrong. */
function whatBringsItAbout(system: System, likely: readonly Weighted[]): Weighted[] {
  const shows = new Set(system.symptom.shows)
  const sets = new Map<string, { members: readonly string[]; weight: number }>()
  for (const { members, weight } of likely) {
    const bringing = members.filter(id => shows.has(id))
    const key = bringing.join()
    const same = sets.get(key)
    if (same === undefined) sets.set(key, { members: bringing, weight })
    else same.weight += weight
  }
  return [...sets.values()].sort((a, b) => b.weight - a.weight)
}

function bestStep(
  open: readonly Weighted[],
  repaired: ReadonlySet<string>,
  costOf: ReadonlyMap<string, number>,
  tryMinutes: number,
): { causes: readonly string[]; cost: number } {
  let best: { causes: readonly string[]; cost: number; ratio: number } | undefined
  const tried = new Set<string>()
  const costs = (causes: readonly string[]) =>
    causes.reduce((sum, id) => sum + (costOf.get(id) ?? 0), tryMinutes)
  const cures = (causes: readonly string[]) =>
    open.reduce(
      (sum, set) =>
        set.members.every(id => repaired.has(id) || causes.includes(id)) ? sum + set.weight : sum,
      0,
    )
  const left = open.reduce((sum, { weight }) => sum + weight, 0)
  for (const { members } of open) {
    const causes = members.filter(id => !repaired.has(id))
    const key = causes.join()
    if (tried.has(key)) continue
    tried.add(key)
    const cost = costs(causes)
    const ratio = cures(causes) / cost
    if (
      (best === undefined || ratio > best.ratio) &&
      !isBetterInParts(causes, left, tryMinutes, costs, cures)
    )
      best = { causes, cost, ratio }
    // The likeliest come first: what comes after this many cures too little to be the best.
    if (tried.size >= 24 && best !== undefined) break
  }
  return best ?? { causes: [], cost: tryMinutes }
}

/**
 * Is it cheaper to repair a part of these and try, and the rest only where that has not helped? Either way the same is
 * repaired in the end, so nothing that comes after matters. Several repairs that share one try: Ottosen and Jensen, When
 * To Test? Troubleshooting with Postponed System Test, Aalborg University, technical report 10-001, 2010.
 */
function isBetterInParts(
  causes: readonly string[],
  left: number,
  tryMinutes: number,
  costs: (causes: readonly string[]) => number,
  cures: (causes: readonly string[]) => number,
): boolean {
  if (causes.length < 2) return false
  return Array.from({ length: (1 << causes.length) - 2 }, (_, i) => i + 1).some(mask => {
    const part = causes.filter((_id, i) => mask & (1 << i))
    const rest = causes.filter(id => !part.includes(id))
    return (cures(part) / left) * costs(rest) > tryMinutes
  })
}
