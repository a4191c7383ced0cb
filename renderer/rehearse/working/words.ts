import type { RehearsalMoment } from '../../../shared/api/rehearse.ts'
import { phaseWords } from '../../../shared/sim/trace.ts'

/** What is being done, in a line. */
export function sayWorking(moment: RehearsalMoment | undefined): string {
  if (moment === undefined) return 'The simulator is starting, or still busy with something else.'
  const { part, standing } = moment
  const whole = part === 'update' ? 'The update' : 'Bringing the receiver back'
  if (standing === undefined) return `${whole} is being played through.`
  const again = standing.attempt > 1 ? `, attempt ${standing.attempt}` : ''
  return `${whole}: ${phaseWords[standing.phase]}${again}`
}

/** How far the step is, in whole per cent; undefined where it does not count. */
export function percentOf({ standing }: RehearsalMoment): number | undefined {
  if (standing === undefined || standing.total === 0) return undefined
  return Math.min(100, Math.floor((100 * standing.done) / standing.total))
}

/** @param ms above 0; said no finer than it can be known */
export function sayLeft(ms: number): string {
  const seconds = Math.ceil(ms / 1000)
  return seconds < 90 ? `about ${seconds} s` : `about ${Math.round(seconds / 60)} min`
}
