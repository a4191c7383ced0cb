import { findCause } from '../../../shared/diagnose/causes.ts'
import { ENOUGH, type UsualTime } from '../../../shared/experience/experience.ts'
import type { Route } from '../../../shared/model/units.ts'
import { expectedMs, type Runbook, type Step } from '../../../shared/runbook/schema.ts'

/** The repair against these causes, as Diagnose says it. */
export const repairLabel = (causes: readonly string[]): string =>
  causes.map(id => findCause(id)?.repair.label ?? id).join(' ')

export const routeWords: Readonly<Record<Route, string>> = { cable: 'by cable', wireless: 'by air' }

/** A duration for somebody who waits: seconds below a minute and a half, then minutes. */
export function sayTime(ms: number): string {
  const seconds = Math.max(0, Math.round(ms / 1000))
  if (seconds < 90) return seconds === 1 ? '1 second' : `${seconds} seconds`
  const minutes = Math.round(seconds / 60)
  return minutes < 120 ? `${minutes} minutes` : `${Math.floor(minutes / 60)} hours`
}

const PAUSE = 'second-pause'

/** Does somebody wait here, rather than work with their hands? */
export const isWaiting = (step: Pick<Step, 'part' | 'rehearsedMs' | 'handsMs' | 'id'>): boolean =>
  step.id === PAUSE || ((step.part === 'update' || step.part === 'second') && step.rehearsedMs > step.handsMs)

export interface Countdown {
  /** Share of the expected time that is over, from 0 to 1. */
  readonly share: number
  readonly text: string
  readonly isOver: boolean
}

/**
 * What is left of the time that the step is expected to take.
 * @param spentMs since the step was entered
 * @param usual what it takes on this bench: a radio that is always slower than the rehearsal is not late
 */
export function countdownOf(step: Step, spentMs: number, usual?: UsualTime): Countdown {
  const whole = expectedMs(step)
  const spent = Math.max(0, spentMs)
  const share = whole === 0 ? 1 : Math.min(1, spent / whole)
  const left = whole - spent
  if (!isWaiting(step)) {
    const text = left > 0 ? `Usually takes ${sayTime(whole)}.` : 'Take the time that it needs.'
    return { share, text, isOver: false }
  }
  if (step.id === PAUSE) {
    const text = left > 0 ? `Wait another ${sayTime(left)}.` : 'That is long enough.'
    return { share, text, isOver: left <= 0 }
  }
  if (left > 0)
    return { share, text: `About ${sayTime(left)} left of ${sayTime(whole)}, as rehearsed.`, isOver: false }
  const usualMs = usual !== undefined && usual.runs >= ENOUGH ? usual.ms : 0
  if (spent < usualMs) {
    const text = `${sayTime(-left)} longer than rehearsed, as is usual on your bench.`
    return { share, text, isOver: false }
  }
  const advice = spent > 2 * Math.max(whole, usualMs) ? LOOK : PATIENCE
  return { share, text: `${sayTime(-left)} longer than rehearsed. ${advice}`, isOver: true }
}
const PATIENCE = 'That alone is no fault: wait as long as its progress moves.'
const LOOK = 'If its progress has stood still for a minute, it has stopped.'

/** Said sooner than this share of the time, what should be seen can hardly have been. Common practice, no source. */
const EARLY_SHARE = 0.5

/**
 * Whether "Saw it" comes so soon that it is asked once more: a radio that is taken for done while it writes is switched
 * off in the middle.
 * @param spentMs since the step was entered
 * @param usual what it takes on this bench: one that is always quicker than the rehearsal is not too soon
 */
export function isEarly(step: Step, spentMs: number, usual?: UsualTime): boolean {
  const usualMs = usual !== undefined && usual.runs >= ENOUGH ? usual.ms : Number.POSITIVE_INFINITY
  return isWaiting(step) && spentMs < EARLY_SHARE * Math.min(expectedMs(step), usualMs)
}

/** Which of its phases the rehearsal was in after this time in the step. */
export function phaseAt({ phases, handsMs }: Pick<Step, 'phases' | 'handsMs'>, spentMs: number): number {
  let untilMs = handsMs
  for (const [i, { ms }] of phases.entries()) {
    untilMs += ms
    if (spentMs < untilMs) return i
  }
  return phases.length - 1
}

/** How long the whole run takes without a second attempt, in milliseconds. */
export const wholeMs = ({ steps }: Pick<Runbook, 'steps'>): number =>
  steps.filter(step => step.part !== 'second').reduce((sum, step) => sum + expectedMs(step), 0)

/** What the writing itself takes, as rehearsed, in milliseconds. */
export const writingMs = ({ steps }: Pick<Runbook, 'steps'>): number =>
  steps
    .filter(step => step.id === 'start' || step.id === 'watch')
    .reduce((sum, step) => sum + step.rehearsedMs, 0)

/** Whether a receiver that is updated by air has to be got at, should that break off: whoever has buried it has to know. */
export const isBackByCable = ({ route, recovery }: Pick<Runbook, 'route' | 'recovery'>): boolean =>
  route === 'wireless' && recovery.written?.rehearsed.route === 'cable'
