import type { RehearsalMoment } from '../../../shared/api/rehearse.ts'

/** How long the step under way still takes on this computer, by how fast it has gone so far; never a guess before. */

/** From where the speed of one step is measured. */
export interface Stretch {
  readonly step: string
  readonly fromMs: number
  readonly fromDone: number
  /** How far it was when it was last heard of. */
  readonly toDone: number
}

/** Less than this says too little about the speed; own estimate. */
const LEAST_MS = 500
const LEAST_SHARE = 0.02

/**
 * @param before what was measured from until now
 * @param nowMs a clock of the window, in milliseconds
 * @returns where to measure from: as before within one step, from here in a new one; undefined where the step does not
 * count what it does
 */
export function stretchOf(
  before: Stretch | undefined,
  { part, standing }: RehearsalMoment,
  nowMs: number,
): Stretch | undefined {
  if (standing === undefined || standing.total === 0) return undefined
  const step = `${part} ${standing.phase} ${standing.attempt}`
  const { done } = standing
  if (before?.step === step && done >= before.toDone) return { ...before, toDone: done }
  return { step, fromMs: nowMs, fromDone: done, toDone: done }
}

/** @returns milliseconds until the end of the step, or undefined while too little is known for it */
export function leftMs(
  stretch: Stretch | undefined,
  { standing }: RehearsalMoment,
  nowMs: number,
): number | undefined {
  if (stretch === undefined || standing === undefined) return undefined
  const gone = standing.done - stretch.fromDone
  const tookMs = nowMs - stretch.fromMs
  if (tookMs < LEAST_MS || gone < standing.total * LEAST_SHARE) return undefined
  return (tookMs * (standing.total - standing.done)) / gone
}
