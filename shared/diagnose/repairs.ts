import type { System } from './system.ts'

/**
 * What repairing without looking any further costs. This is worked out for every look that could be taken, so sets of
 * causes are bits in two whole numbers.
 */
export interface Shop {
  /** The distinct sets of causes that have to be put right for the symptom to go. */
  readonly cures: readonly Cure[]
  /** By set suspected, which of the cures is the one for it. */
  readonly cureOf: Int32Array
  readonly tryMinutes: number
  readonly giveUpMinutes: number
}
interface Cure {
  readonly ids: readonly string[]
  /** By cause: its bit, and what its repair costs. */
  readonly bits: readonly number[]
  readonly minutes: readonly number[]
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

/** @param suspected the likeliest first; of each, those that bring the symptom about have to be put right, no others */
export function openShop(
  system: System,
  suspected: readonly { readonly members: readonly string[] }[],
  costs: { readonly tryMinutes: number; readonly giveUpMinutes: number },
): Shop {
  const shows = new Set(system.symptom.shows)
  const minutesOf = new Map(system.causes.map(({ id, repairMinutes }) => [id, repairMinutes]))
  const bitOf = new Map<string, number>()
  const cures: Cure[] = []
  const indexOf = new Map<string, number>()
  const cureOf = Int32Array.from(suspected, ({ members }) => {
    const ids = members.filter(id => shows.has(id))
    const key = ids.join()
    const known = indexOf.get(key)
    if (known !== undefined) return known
    for (const id of ids) if (!bitOf.has(id)) bitOf.set(id, bitOf.size)
    const bits = ids.map(id => bitOf.get(id) ?? 0)
    if (bits.some(bit => bit >= MOST_CAUSES)) return -1
    const sum = (from: number) =>
      bits.reduce((mask, bit) => (bit >= from && bit < from + BITS ? mask | (1 << (bit - from)) : mask), 0)
    indexOf.set(key, cures.length)
    return (
      cures.push({
        ids,
        bits,
        minutes: ids.map(id => minutesOf.get(id) ?? 0),
        low: sum(0),
        high: sum(BITS),
      }) - 1
    )
  })
  return { cures, cureOf, ...costs }
}

/** Repairs are planned until this little is left, which is given up on. */
const LEFT_OVER = 0.002
/** The likeliest come first: what comes after this many cures too little to be the best. */
const MOST_CANDIDATES = 12

interface Open {
  readonly cure: Cure
  readonly weight: number
}

/**
 * Repairs one set after the other, each time the one with the best ratio of what it cures to what it costs; after each
 * the update is tried again. A cause that was repaired stays repaired.
 * @param weights by set suspected, summing to 1
 */
export function planRepairs(shop: Shop, weights: Float64Array): RepairPlan {
  const byCure = new Float64Array(shop.cures.length)
  weights.forEach((weight, i) => {
    if (shop.cureOf[i] >= 0) byCure[shop.cureOf[i]] += weight
  })
  let open: Open[] = shop.cures.map((cure, i) => ({ cure, weight: byCure[i] }))
  open = open.filter(({ weight }) => weight > 0).sort((a, b) => b.weight - a.weight)
  let [low, high, left, minutes] = [0, 0, 1, 0]
  let first: readonly string[] | undefined
  while (left > LEFT_OVER && open.length > 0) {
    const step = bestStep(open, low, high, shop.tryMinutes)
    // Carried out only where nothing before has helped.
    minutes += left * step.cost
    first ??= step.cure.ids
    low |= step.cure.low
    high |= step.cure.high
    open = open.filter(({ cure }) => (cure.low & ~low) !== 0 || (cure.high & ~high) !== 0)
    left = open.reduce((sum, { weight }) => sum + weight, 0)
  }
  return { minutes: minutes + left * shop.giveUpMinutes, first: first ?? [] }
}

function bestStep(
  open: readonly Open[],
  low: number,
  high: number,
  tryMinutes: number,
): { cure: Cure; cost: number } {
  let best = { cure: open[0].cure, cost: 0, ratio: -1 }
  for (const { cure } of open.slice(0, MOST_CANDIDATES)) {
    const cost = costOf(cure, low, high, tryMinutes)
    const notLow = ~(low | cure.low)
    const notHigh = ~(high | cure.high)
    let cured = 0
    for (const { cure: other, weight } of open)
      if ((other.low & notLow) === 0 && (other.high & notHigh) === 0) cured += weight
    if (cured / cost > best.ratio) best = { cure, cost, ratio: cured / cost }
  }
  return best
}

/** What was put right before costs nothing more. */
function costOf(cure: Cure, low: number, high: number, tryMinutes: number): number {
  let [cost, place] = [tryMinutes, 0]
  for (const bit of cure.bits) {
    const isDone = bit < BITS ? (low >> bit) & 1 : (high >> (bit - BITS)) & 1
    if (!isDone) cost += cure.minutes[place]
    place++
  }
  return cost
}
