import type { DeviceId } from '../../../shared/sim/trace.ts'
import type { Session } from '../timeline/session.ts'

/** Who has spoken just now. */
export type Traffic = ReadonlySet<DeviceId>

const names: Readonly<Record<string, DeviceId>> = { radio: 'radio', module: 'module', receiver: 'receiver' }

/** A talker's device; sensors talk under names of their own. */
export const deviceOfTalker = (name: string): DeviceId => names[name] ?? 'sensor'

/**
 * Devices with a burst under way in a span of time that ends now. In play the span is what has passed since the text
 * was last shown, else short bursts would never be seen.
 */
export function trafficIn(session: Session, fromNs: number, toNs: number): Traffic {
  const talking = new Set<DeviceId>()
  for (const { lane, index } of session.lanes) {
    const { first, last } = index.window(fromNs, Math.max(fromNs + 1, toNs))
    const seen = new Set<number>()
    for (let rank = last - 1; rank >= first && seen.size < lane.talkers.length && last - rank < 2000; rank--)
      if (index.endNs[rank] > fromNs) seen.add(lane.talker[index.burst(rank)])
    for (const talker of seen) talking.add(deviceOfTalker(lane.talkers[talker] ?? ''))
  }
  return talking
}
