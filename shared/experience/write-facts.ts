import { troubleOf } from '../bench-run/diagnosis.ts'
import type { LoggedEvent } from '../logbook/event.ts'
import type { SessionHead } from '../logbook/session.ts'
import type { RunFacts } from './run-facts.ts'

/** The whole of a write, in `times`. */
export const WHOLE = 'whole'
/** A write takes minutes; beyond that something stood still. */
const MOST_MS = 3_600_000

/**
 * What a write through a programmer that is over tells of the next ones.
 * @param events all of it, in order; the recorded answers of the line are not needed
 */
export function factsOfWrite(
  head: Pick<SessionHead, 'typeId' | 'dialect' | 'ending' | 'startedAtMs'>,
  events: readonly LoggedEvent[],
): RunFacts {
  const told = events.map(({ event }) => event)
  const failures = told.filter(event => event.kind === 'attempt-failed').length
  const isDone = head.ending === 'done'
  const second = failures > 1 ? 'failed' : failures === 1 && isDone ? 'worked' : null
  const trouble = second === 'worked' ? troubleOf(told) : undefined
  const ms = (events.at(-1)?.atMs ?? head.startedAtMs) - head.startedAtMs
  return {
    typeId: head.typeId,
    way: head.dialect ?? '',
    first: failures > 0 ? 'failed' : isDone ? 'worked' : null,
    second,
    // A second attempt is not how long a write takes.
    times: isDone && failures === 0 && ms > 0 && ms <= MOST_MS ? { [WHOLE]: ms } : {},
    secondTry: trouble === undefined ? null : { ...trouble, route: 'cable' },
  }
}
