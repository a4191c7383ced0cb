import type { SessionEvent } from '../procedure/effects.ts'
import type { PhaseId } from '../sim/trace.ts'
import type { ReceiverState } from './plan.ts'

/** In what state a session that was broken off leaves the receiver, by the last that is known of it. */

const AFTER: Partial<Record<PhaseId, ReceiverState>> = {
  erase: 'in-boot-loader',
  write: 'partly-written',
  verify: 'written-not-proven',
  commit: 'written-not-proven',
  restart: 'not-known',
}
const ORDER: readonly ReceiverState[] = [
  'as-before',
  'in-boot-loader',
  'partly-written',
  'written-not-proven',
  'not-known',
]

/**
 * For a session that ended without a `WriteEnd`: cancelled, port lost, program killed.
 * @param events all that the session has told, in order
 * @returns the state as far as it can be known: what an earlier attempt erased stays erased
 */
export function stateIfBrokenOff(events: Iterable<SessionEvent>): ReceiverState {
  let state: ReceiverState = 'as-before'
  for (const event of events) {
    if (event.kind !== 'phase') continue
    const after = AFTER[event.phase]
    if (after === undefined) continue
    // A new attempt that erases or writes undoes what an earlier one had written; the way there does not.
    const redone = event.phase === 'erase' || event.phase === 'write'
    if (redone || ORDER.indexOf(after) > ORDER.indexOf(state)) state = after
  }
  return state
}
