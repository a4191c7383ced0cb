import { withUnit } from '../fit/rule.ts'
import type { Bench } from '../model/bench.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { isKnown, type Known } from '../model/units.ts'
import { sameVersion } from '../model/version.ts'
import type { Runbook } from './schema.ts'
import type { RunState } from './state.ts'

/** What the bench is to say of the receiver once a person has seen that it is updated. */
export interface SeenAfter {
  /** The version that the person saw. */
  readonly firmware: Known<string>
  readonly isBound: boolean
}

/**
 * What the answers say, to be confirmed by the person: the version that was expected, and whether it is bound.
 * @param wasBound whether the bench says that it was bound before
 */
export const seenAfter = (runbook: Runbook, state: RunState, wasBound: boolean): SeenAfter => ({
  firmware: runbook.image.version,
  isBound:
    (wasBound && !runbook.converts) ||
    state.visits.some(({ step, said }) => step.id === 'after-bind' && said === 'saw'),
})

/** The bench with the receiver as it was seen: its firmware, its generation, what it is bound to. */
export function benchAfterRun(
  bench: Bench,
  { receiver, image, moduleId }: Pick<Runbook, 'receiver' | 'image' | 'moduleId'>,
  seen: SeenAfter,
): Bench {
  const unit = bench.receivers.find(one => one.id === receiver.id)
  if (unit === undefined) return bench
  const isAsMeant =
    seen.firmware === image.version ||
    (isKnown(seen.firmware) && isKnown(image.version) && sameVersion(seen.firmware, image.version))
  const module = bench.modules.find(one => one.id === moduleId)
  const change: Partial<ReceiverUnit> = {
    firmware: seen.firmware,
    ...(isAsMeant && isKnown(image.generation) ? { generation: image.generation } : {}),
    factoryFresh: false,
    boundTo: seen.isBound ? (unit.boundTo ?? module?.id) : undefined,
  }
  return withUnit(bench, 'receivers', unit.id, change)
}
