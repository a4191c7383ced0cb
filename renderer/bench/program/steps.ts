import type { StatusRole } from '../../ui/StatusMark.tsx'

/** The way to a write, one step after the other. */
export const STEPS = ['port', 'wiring', 'what', 'rehearse', 'look'] as const
export type StepId = (typeof STEPS)[number]

export const stepTitles: Readonly<Record<StepId, string>> = {
  port: 'The port',
  wiring: 'The wiring, before there is power',
  what: 'What is written, and how',
  rehearse: 'Rehearsed and checked',
  look: 'Look at the table, then write',
}

/** What is known of each step; the last one is done by writing. */
export interface Progress {
  readonly port: boolean
  readonly wiring: boolean
  readonly what: boolean
  readonly rehearse: boolean
}

const isDone = (progress: Progress, step: StepId): boolean => step !== 'look' && progress[step]

/** The first step that is not done. */
export const nextStep = (progress: Progress): StepId => STEPS.find(step => !isDone(progress, step)) ?? 'look'

export type StepState = 'done' | 'next' | 'later'

/** What is the case with a step, where that is neither "done" nor "next". */
export interface StepSays {
  readonly word: string
  readonly status: StatusRole
}

/** A step after one that is not done is never told as done: what it rests on may change it. */
export function stepState(progress: Progress, step: StepId): StepState {
  const next = nextStep(progress)
  if (step === next) return 'next'
  return STEPS.indexOf(step) < STEPS.indexOf(next) ? 'done' : 'later'
}

/**
 * Where "next" leads from a step that is done: to the one after it, even where that is filled in already, for what the
 * workbench has chosen is to be seen before it is written; but back to the first that is not done, if one before it is
 * not.
 */
export const stepAfter = (progress: Progress, step: StepId): StepId =>
  STEPS[Math.min(STEPS.length - 1, STEPS.indexOf(nextStep(progress)), STEPS.indexOf(step) + 1)]
