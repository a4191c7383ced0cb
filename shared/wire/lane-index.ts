import type { Lane } from '../sim/trace.ts'

/** Time of one bit on a lane in nanoseconds, not rounded. */
export const bitNsOf = (lane: Pick<Lane, 'baud'>): number => 1e9 / lane.baud

/** Time of one character on a lane in nanoseconds, not rounded. */
export const characterNsOf = (lane: Pick<Lane, 'baud' | 'bitsPerCharacter'>): number =>
  (lane.bitsPerCharacter * 1e9) / lane.baud

/** The first index of `sorted` whose value is not below `value`, or `length`. */
export function lowerBound(sorted: ArrayLike<number>, value: number, length = sorted.length): number {
  let low = 0
  let high = length
  while (low < high) {
    const middle = (low + high) >>> 1
    if (sorted[middle] < value) low = middle + 1
    else high = middle
  }
  return low
}

/** The first index of `sorted` whose value lies above `value`, or `length`. */
export function upperBound(sorted: ArrayLike<number>, value: number, length = sorted.length): number {
  let low = 0
  let high = length
  while (low < high) {
    const middle = (low + high) >>> 1
    if (sorted[middle] <= value) low = middle + 1
    else high = middle
  }
  return low
}

/**
 * Finds the bursts of a lane that a time window touches by two binary searches, however many there are. Bursts are
 * numbered by their place in order of start (`rank`); `burst` gives the lane's own number.
 */
export class LaneIndex {
  readonly lane: Lane
  readonly bitNs: number
  readonly characterNs: number
  /** Starts and ends by rank. */
  readonly startNs: Float64Array
  readonly endNs: Float64Array
  /** Latest end of all bursts up to this rank: it never falls, so it can be searched. */
  private readonly endedByNs: Float64Array
  private readonly order: Uint32Array | undefined

  constructor(lane: Lane) {
    this.lane = lane
    this.bitNs = bitNsOf(lane)
    this.characterNs = characterNsOf(lane)
    this.order = isRising(lane.startNs, lane.burstCount) ? undefined : orderOf(lane)
    const count = lane.burstCount
    this.startNs = new Float64Array(count)
    this.endNs = new Float64Array(count)
    this.endedByNs = new Float64Array(count)
    let latest = Number.NEGATIVE_INFINITY
    for (let rank = 0; rank < count; rank++) {
      const burst = this.burst(rank)
      this.startNs[rank] = lane.startNs[burst]
      this.endNs[rank] = lane.startNs[burst] + lane.octetCount[burst] * this.characterNs
      latest = Math.max(latest, this.endNs[rank])
      this.endedByNs[rank] = latest
    }
  }

  get count(): number {
    return this.lane.burstCount
  }

  /** The lane's own number of the burst at this rank. */
  burst(rank: number): number {
    return this.order === undefined ? rank : this.order[rank]
  }

  /** Ranks that may overlap the window: `first` up to but not including `last`; those between that do not are few. */
  window(fromNs: number, toNs: number): { readonly first: number; readonly last: number } {
    const first = upperBound(this.endedByNs, fromNs)
    return { first, last: Math.max(first, lowerBound(this.startNs, toNs)) }
  }

  /** Rank of the burst under way at this moment, the one that started last; undefined in silence. */
  at(atNs: number): number | undefined {
    const { first, last } = this.window(atNs, atNs + 1)
    for (let rank = last - 1; rank >= first; rank--)
      if (this.startNs[rank] <= atNs && this.endNs[rank] > atNs) return rank
    return undefined
  }
}

function isRising(values: Float64Array, count: number): boolean {
  for (let i = 1; i < count; i++) if (values[i] < values[i - 1]) return false
  return true
}

function orderOf(lane: Lane): Uint32Array {
  const order = Uint32Array.from({ length: lane.burstCount }, (_, i) => i)
  return order.sort((a, b) => lane.startNs[a] - lane.startNs[b])
}
