import { z } from 'zod'
import type { LaneReport } from '../../../shared/bench-run/lane.ts'

/**
 * What has been ticked of what is to be done again before it flies: places in that list, by the session (or by the lane
 * where it has none).
 */
export type Ticks = ReadonlyMap<string, readonly number[]>

/** A setting holds no more than 2,000 characters; the oldest ends give way. */
const MOST_KEPT = 16
const keptSchema = z
  .array(z.tuple([z.string().max(60), z.array(z.number().int().min(0).max(99)).max(20)]))
  .max(MOST_KEPT)

export const ticksKey = ({ sessionId, lane }: Pick<LaneReport, 'sessionId' | 'lane'>): string =>
  sessionId ?? lane

/** @param kept as `writeTicks` wrote it; anything else is passed over */
export function readTicks(kept: string | null): Ticks {
  try {
    return new Map(keptSchema.parse(JSON.parse(kept ?? '')))
  } catch {
    return new Map()
  }
}

/** @returns a text for the settings, of the newest ends */
export const writeTicks = (ticks: Ticks): string => JSON.stringify([...ticks].slice(-MOST_KEPT))

/** @returns the ticks with this place of the list set, or taken away */
export function withTick(ticks: Ticks, key: string, place: number, isDone: boolean): Ticks {
  const others = (ticks.get(key) ?? []).filter(one => one !== place)
  return new Map(ticks).set(key, isDone ? [...others, place] : others)
}

/** @returns the ticks without those of an end that was closed */
export function withoutTicks(ticks: Ticks, key: string): Ticks {
  const left = new Map(ticks)
  left.delete(key)
  return left
}
