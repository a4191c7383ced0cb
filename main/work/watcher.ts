import type { RehearsalMoment } from '../../shared/api/rehearse.ts'
import type { RehearseOptions } from '../../shared/rehearse/rehearse.ts'
import type { Meanwhile } from './worker-loop.ts'

/** Often enough for somebody who looks at it. */
const NOTE_EVERY_MS = 100

/**
 * Looks after one rehearsal: breaks it off where nobody wants it any more, and notes now and then how far it is.
 * @param nowMs a clock; given where somebody counts
 */
export function watcher(
  { goOn, note }: Meanwhile,
  nowMs = () => performance.now(),
): NonNullable<RehearseOptions['watch']> {
  let noted = nowMs()
  return (part, { simulatedMs, standing }) => {
    goOn()
    const now = nowMs()
    if (now - noted < NOTE_EVERY_MS) return
    noted = now
    const moment: RehearsalMoment = { part, simulatedMs, ...(standing ? { standing } : {}) }
    note(moment)
  }
}
