import type { System } from './system.ts'

/**
 * What repairing without looking any further costs. This is worked out for every look that could be taken, so sets of
 * causes are bits in two whole numbers.
 */
export interface Shop {
  /** The distinct sets of causes that have to be put right for the symptom to go. */
  readonly cures: readonly Cure[]
  /** By set suspected, which of the cures is the one for it; -1 where there is none. */
  readonly cureOf: Int32Array
  readonly tryMinutes: number
  readonly giveUpMinutes: number
}
interface Repair {
  readonly low: number
  readonly high: number
  readonly minutes: number
}
interface Cure {
  readonly ids: readonly string[]
  readonly repairs: readonly Repair[]
  readonly low: number
  readonly high: number
}

export interface RepairPlan {
  /** Expected cost, in minutes. */
  readonly minutes: number
  /** Ids of the causes to put right first. */
  readonly first: readonly string[]
}

const BITS = 30
/** More than this many causes suspected at once are told apart by no advice; the least likely are left out. */
const MOST_CAUSES = 2 * BITS

/**
 * @param suspected the likeliest first; of each, those that bring the symptom about have to be put right, no others
 * @param costs `putOff` names causes that cannot be put right now
 */
export function openShop(
  system: System,
  suspected: readonly { readonly members: readonly string[] }[],
  costs: Pick<Shop, 'tryMinutes' | 'giveUpMinutes'> & { readonly putOff?: ReadonlySet<string> },
): Shop {
  const { tryMinutes, giveUpMinutes, putOff } = costs
  const shows = new Set(system.symptom.shows)
  const minutesOf = new Map(system.causes.map(({ id, repairMinutes }) => [id, repairMinutes]))
  const bitOf = new Map<string, number>()
  const cures: Cure[] = []
  const indexOf = new Map<string, number>()
  const cureOf = Int32Array.from(suspected, ({ members }) => {
    const ids = members.filter(id => shows.has(id))
    if (ids.some(id => putOff?.has(id))) return -1
    const key = ids.join()
    const known = indexOf.get(key)
    if (known !== undefined) return known
    for (const id of ids) if (!bitOf.has(id)) bitOf.set(id, bitOf.size)
    const bits = ids.map(id => bitOf.get(id) ?? 0)
    if (bits.some(bit => bit >= MOST_CAUSES)) return -1
    indexOf.set(key, cures.length)
    const repairs = ids.map((id, i) => ({ ...maskOf([bits[i]]), minutes: minutesOf.get(id) ?? 0 }))
    return cures.push({ ids, repairs, ...maskOf(bits) }) - 1
  })
  return { cures, cureOf, tryMinutes, giveUpMinutes }
}

function maskOf(bits: readonly number[]): { low: number; high: number } {
  let [low, high] = [0, 0]
  for (const bit of bits)
    if (bit < BITS) low |= 1 << bit
    else high |= 1 << (bit - BITS)
  return { low, high }
}

/** Repairs are planned until this little is left, which is given up on. */
const LEFT_OVER = 0.002
/** The likeliest come first: what comes after this many cures too little to be the best. */
const MOST_CANDIDATES = 8

interface Open {
  readonly cure: Cure
  readonly weight: number
}

/**
 * Repairs one set after the other, each time the one with the best ratio of what it cures to what it costs; after each
 * the update is tried again. A cause that was repaired stays repaired. Where what may well be the reason cannot be put
 * right now, nothing is repaired that costs more than it can be expected to save.
 * @param weights by set suspected, summing to 1
 */
export function planRepairs(shop: Shop, weights: Float64Array): RepairPlan {
  const byCure = new Float64Array(shop.cures.length)
  let beyond = 0
  weights.forEach((weight, i) => {
    if (shop.cureOf[i] >= 0) byCure[shop.cureOf[i]] += weight
    else beyond += weight
  })
  let open: Open[] = shop.cures.map((cure, i) => ({ cure, weight: byCure[i] }))
  open = open.filter(({ weight }) => weight > 0).sort((a, b) => b.weight - a.weight)
  let [low, high, left, minutes] = [0, 0, 1 - beyond, 0]
  let first: readonly string[] | undefined
  while (left > LEFT_OVER && open.length > 0) {
    const step = bestStep(open, beyond, low, high, shop.tryMinutes)
    if (beyond > 0 && step.ratio * shop.giveUpMinutes < 1) break
    // Carried out only where nothing before has helped.
    minutes += (left + beyond) * step.cost
    first ??= step.cure.ids
    low |= step.cure.low
    high |= step.cure.high
    open = open.filter(({ cure }) => (cure.low & ~low) !== 0 || (cure.high & ~high) !== 0)
    left = open.reduce((sum, { weight }) => sum + weight, 0)
  }
  return { minutes: minutes + (left + beyond) * shop.giveUpMinutes, first: first ?? [] }
}

/** What share of what is left is gone once these bits are put right too. */
type Cured = (low: number, high: number) => number

interface RepairStep {
  readonly cure: Cure
  readonly cost: number
  /** What share of what is left it cures, by what it costs in minutes. */
  readonly ratio: number
}

/** @param beyond weight of what is left and cannot be cured */
function bestStep(
  open: readonly Open[],
  beyond: number,
  low: number,
  high: number,
  tryMinutes: number,
): RepairStep {
  let left = beyond
  for (let i = 0; i < open.length; i++) left += open[i].weight
  const cured: Cured = (moreLow, moreHigh) => {
    const [notLow, notHigh] = [~(low | moreLow), ~(high | moreHigh)]
    let sum = 0
    for (let i = 0; i < open.length; i++) {
      const { cure, weight } = open[i]
      if ((cure.low & notLow) === 0 && (cure.high & notHigh) === 0) sum += weight
    }
    return sum / left
  }
  let best: RepairStep | undefined
  for (let i = 0; i < open.length && (i < MOST_CANDIDATES || best === undefined); i++) {
    const { cure } = open[i]
    let cost = tryMinutes
    for (const repair of cure.repairs) cost += isDone(repair, low, high) ? 0 : repair.minutes
    const ratio = cured(cure.low, cure.high) / cost
    if (best !== undefined && ratio <= best.ratio) continue
    if (!isBetterInParts(cure.repairs, low, high, cured, tryMinutes)) best = { cure, cost, ratio }
  }
  return best ?? { cure: open[0].cure, cost: tryMinutes, ratio: open[0].weight / left / tryMinutes }
}

/** What was put right before costs nothing more. */
const isDone = (repair: Repair, low: number, high: number): boolean =>
  (repair.low & ~low) === 0 && (repair.high & ~high) === 0

/**
 * Is it cheaper to repair a part of these and try, and the rest only where that has not helped? Either way the same is
 * repaired in the end, so nothing that comes after matters. Several repairs that share one try: Ottosen and Jensen, When
 * To Test? Troubleshooting with Postponed System Test, Aalborg University, technical report 10-001, 2010.
 */
function isBetterInParts(
  repairs: readonly Repair[],
  low: number,
  high: number,
  cured: Cured,
  tryMinutes: number,
): boolean {
  for (let mask = 1; mask < (1 << repairs.length) - 1; mask++) {
    let [partLow, partHigh, rest] = [0, 0, tryMinutes]
    for (let i = 0; i < repairs.length; i++) {
      const repair = repairs[i]
      if ((mask >> i) & 1) {
        partLow |= repair.low
        partHigh |= repair.high
      } else if (!isDone(repair, low, high)) rest += repair.minutes
    }
    if (cured(partLow, partHigh) * rest > tryMinutes) return true
  }
  return false
}
