import type { LaneIndex } from '../../../shared/wire/lane-index.ts'

/** At most this many talkers are told apart; more share the last place. */
export const MOST_TALKERS = 8

/**
 * How busy a lane is, at every scale at once: a base of equal buckets over the session, and above it level over level
 * of half as many. Any window costs the same to draw, however much happens in it.
 */
export interface Density {
  readonly endNs: number
  readonly talkers: number
  readonly levels: readonly DensityLevel[]
}

export interface DensityLevel {
  readonly bucketNs: number
  readonly buckets: number
  /** Nanoseconds in which each talker speaks, `bucket * talkers + talker`. */
  readonly busyNs: Float64Array
  /** Flags of all bursts in the bucket together. */
  readonly flags: Uint8Array
}

/** @param buckets number of buckets of the finest level, a power of two */
export function densityOf(index: LaneIndex, endNs: number, buckets = 16_384): Density {
  const talkers = Math.min(MOST_TALKERS, Math.max(1, index.lane.talkers.length))
  const levels = [baseLevel(index, Math.max(1, endNs), buckets, talkers)]
  while (levels.at(-1)!.buckets > 1) levels.push(halved(levels.at(-1)!, talkers))
  return { endNs: Math.max(1, endNs), talkers, levels }
}

function baseLevel(index: LaneIndex, endNs: number, buckets: number, talkers: number): DensityLevel {
  const bucketNs = endNs / buckets
  const busyNs = new Float64Array(buckets * talkers)
  const flags = new Uint8Array(buckets)
  for (let rank = 0; rank < index.count; rank++) {
    const burst = index.burst(rank)
    const talker = Math.min(talkers - 1, index.lane.talker[burst])
    const startNs = Math.max(0, index.startNs[rank])
    const stopNs = Math.min(endNs, index.endNs[rank])
    for (let bucket = Math.min(buckets - 1, Math.floor(startNs / bucketNs)); bucket < buckets; bucket++) {
      const left = bucket * bucketNs
      if (left >= stopNs && bucket * bucketNs > startNs) break
      busyNs[bucket * talkers + talker] += Math.max(
        0,
        Math.min(stopNs, left + bucketNs) - Math.max(startNs, left),
      )
      flags[bucket] |= index.lane.flags[burst]
    }
  }
  return { bucketNs, buckets, busyNs, flags }
}

function halved(below: DensityLevel, talkers: number): DensityLevel {
  const buckets = Math.ceil(below.buckets / 2)
  const busyNs = new Float64Array(buckets * talkers)
  const flags = new Uint8Array(buckets)
  for (let bucket = 0; bucket < below.buckets; bucket++) {
    flags[bucket >> 1] |= below.flags[bucket]
    for (let t = 0; t < talkers; t++)
      busyNs[(bucket >> 1) * talkers + t] += below.busyNs[bucket * talkers + t]
  }
  return { bucketNs: below.bucketNs * 2, buckets, busyNs, flags }
}

/** The coarsest level whose buckets are no wider than a column; the finest where all are wider. */
export function levelFor(density: Density, columnNs: number): DensityLevel {
  return density.levels.findLast(level => level.bucketNs <= columnNs) ?? density.levels[0]
}

export interface DensityColumns {
  /** Share of the column in which each talker speaks, `column * talkers + talker`, 0..1. */
  readonly busy: Float32Array
  readonly flags: Uint8Array
}

/** The window in so many columns. A bucket that two columns share counts in both by its part. */
export function columnsOf(density: Density, fromNs: number, spanNs: number, columns: number): DensityColumns {
  const { talkers } = density
  const columnNs = spanNs / columns
  const level = levelFor(density, columnNs)
  const busy = new Float32Array(columns * talkers)
  const flags = new Uint8Array(columns)
  for (let column = 0; column < columns; column++) {
    const left = fromNs + column * columnNs
    const right = left + columnNs
    if (right <= 0 || left >= density.endNs) continue
    const last = Math.min(level.buckets - 1, Math.ceil(right / level.bucketNs) - 1)
    for (let bucket = Math.max(0, Math.floor(left / level.bucketNs)); bucket <= last; bucket++) {
      const bucketLeft = bucket * level.bucketNs
      const part =
        (Math.min(right, bucketLeft + level.bucketNs) - Math.max(left, bucketLeft)) / level.bucketNs
      flags[column] |= level.flags[bucket]
      for (let t = 0; t < talkers; t++)
        busy[column * talkers + t] += (part * level.busyNs[bucket * talkers + t]) / columnNs
    }
  }
  return { busy, flags }
}
