import type { Rehearsed } from '../../../shared/bench-run/check.ts'
import type { Difference, LaneReport, WriteStep } from '../../../shared/bench-run/lane.ts'
import { saySeconds, shortStepWords, stepWords } from './words.ts'

/** Reality beside its rehearsal, both on one scale. Pure, so that it can be checked without a screen. */

export interface StripPart {
  readonly key: string
  readonly step: WriteStep
  readonly attempt: number
  /** Shares of the whole width, from 0 to 1. */
  readonly left: number
  readonly width: number
  readonly ms: number
  readonly isRunning: boolean
}

export interface StripMark {
  readonly key: string
  readonly left: number
  readonly difference: Difference
}

export interface Strip {
  readonly wholeMs: number
  readonly rehearsed: readonly StripPart[]
  readonly real: readonly StripPart[]
  readonly marks: readonly StripMark[]
}

interface Timed {
  readonly step: WriteStep
  readonly attempt: number
  readonly startMs: number
  readonly endMs: number | null
}

/** @param lane undefined where only the rehearsal is shown */
export function stripOf(
  rehearsed: Rehearsed | null,
  lane?: Pick<LaneReport, 'steps' | 'elapsedMs' | 'differs'>,
): Strip {
  const wholeMs = Math.max(1, rehearsed?.simulatedMs ?? 0, lane?.elapsedMs ?? 0)
  const parts = (steps: readonly Timed[], nowMs: number): StripPart[] =>
    steps.map(({ step, attempt, startMs, endMs }, i) => {
      const end = endMs ?? Math.max(startMs, nowMs)
      return {
        ...{ key: `${i} ${step}`, step, attempt, isRunning: endMs === null, ms: end - startMs },
        left: Math.min(1, startMs / wholeMs),
        width: Math.max(0, Math.min(1 - startMs / wholeMs, (end - startMs) / wholeMs)),
      }
    })
  return {
    wholeMs,
    rehearsed: rehearsed === null ? [] : parts(rehearsed.steps, rehearsed.simulatedMs),
    real: lane === undefined ? [] : parts(lane.steps, lane.elapsedMs),
    marks: (lane?.differs ?? []).map((difference, i) => ({
      key: `${i} ${difference.kind}`,
      left: Math.min(1, Math.max(0, difference.atMs / wholeMs)),
      difference,
    })),
  }
}

/**
 * A write counts from when it was begun, the picture of its line from when the port was open: the first step of the
 * procedure is in both.
 * @returns turns milliseconds of the write into nanoseconds of the picture, within it
 */
export function traceTimeOf(
  trace: { readonly endNs: number; readonly phases: readonly { readonly startNs: number }[] },
  steps: LaneReport['steps'],
): (atMs: number) => number {
  const firstMs = steps.find(({ step }) => step !== 'open')?.startMs ?? 0
  const firstNs = trace.phases[0]?.startNs ?? 0
  return atMs => Math.min(trace.endNs, Math.max(0, (atMs - firstMs) * 1e6 + firstNs))
}

export const partName = ({ step, attempt }: Pick<StripPart, 'step' | 'attempt'>): string =>
  `${shortStepWords[step]}${attempt > 1 ? ` (${attempt})` : ''}`

/** The row in words, for those who do not see it. */
export const sayRow = (name: string, parts: readonly StripPart[]): string =>
  `${name}: ${
    parts.length === 0
      ? 'nothing yet'
      : parts
          .map(
            p =>
              `${stepWords[p.step]}${p.attempt > 1 ? `, attempt ${p.attempt}` : ''} ${saySeconds(p.ms)}${p.isRunning ? ', now' : ''}`,
          )
          .join('; ')
  }.`
