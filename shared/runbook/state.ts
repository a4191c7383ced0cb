import { z } from 'zod'
import type { Answer, SymptomId } from '../diagnose/report.ts'
import type { Other, Runbook, Step } from './schema.ts'

/**
 * Where a guided run stands: worked out from the runbook and everything that was answered, so that a run is nothing but
 * its answers. They go into the logbook one by one, and whoever opens it again stands at the same step.
 */
const answerBase = { step: z.string().min(1).max(40), atMs: z.number().min(0).max(8.64e15) }
export const runAnswerSchema = z.discriminatedUnion('said', [
  z.object({ ...answerBase, said: z.literal('saw') }),
  /** Something else, by its place in the list of the step. */
  z.object({ ...answerBase, said: z.literal('other'), other: z.number().int().min(0).max(20) }),
  z.object({ ...answerBase, said: z.literal('unsure') }),
  z.object({ ...answerBase, said: z.literal('back') }),
  /** The reason was looked for in the Diagnose view. */
  z.object({ ...answerBase, said: z.literal('diagnose') }),
  /** The trouble is put right; from the step that `Step.again` names. */
  z.object({ ...answerBase, said: z.literal('again') }),
  z.object({ ...answerBase, said: z.literal('stop') }),
  /** Gone on with after a stop, or in a window that was opened anew. */
  z.object({ ...answerBase, said: z.literal('resume') }),
  /** Stopped for good. */
  z.object({ ...answerBase, said: z.literal('end') }),
])
export type RunAnswer = z.infer<typeof runAnswerSchema>

/** More answers than anybody gives; a run that has them takes no more. */
export const MOST_ANSWERS = 2000

interface Visit {
  readonly step: Step
  readonly enteredAtMs: number
  readonly unsure: boolean
  readonly said: 'saw' | Other | undefined
}

export interface RunState {
  readonly at: 'step' | 'trouble' | 'stopped' | 'ended'
  /** The step that is done now, or was the last. */
  readonly step: Step
  readonly enteredAtMs: number
  /** "Not sure" was said here: how to be sure is to be shown. */
  readonly unsure: boolean
  /** What was seen instead; in trouble only. */
  readonly other: Other | undefined
  readonly isSecond: boolean
  readonly canGoBack: boolean
  /** Steps of the way that is gone: which one this is, from 1, and of how many. */
  readonly number: number
  readonly of: number
  /** What the steps so far answer for the diagnosis. */
  readonly facts: Readonly<Record<string, Answer>>
  readonly wasDiagnosed: boolean
  /** Steps gone through, with how each was answered; the last one is open unless the run has ended. */
  readonly visits: readonly Visit[]
}

/** The symptom that a diagnosis of this moment is about, where there is one. */
export const symptomNow = (state: RunState): SymptomId | undefined =>
  state.other?.symptom ?? state.step.others.find(one => one.symptom !== undefined)?.symptom

interface Fold {
  readonly visits: readonly Visit[]
  readonly at: RunState['at']
  readonly other: Other | undefined
  readonly wasDiagnosed: boolean
}

/**
 * @param beganAtMs when the run was begun, by the same clock as the answers
 * @returns the state after all answers; an answer that does not belong to the state it meets (a key pressed twice, a
 * step that is no longer shown) changes nothing
 */
export function runbookState(runbook: Runbook, beganAtMs: number, answers: readonly RunAnswer[]): RunState {
  let fold: Fold = {
    visits: [enter(runbook.steps[0], beganAtMs)],
    at: 'step',
    other: undefined,
    wasDiagnosed: false,
  }
  for (const answer of answers) fold = after(runbook, fold, answer)
  return told(runbook, fold)
}

/** Does this answer change anything? What does not is not written down. */
export function takes(
  runbook: Runbook,
  beganAtMs: number,
  answers: readonly RunAnswer[],
  next: RunAnswer,
): boolean {
  if (answers.length >= MOST_ANSWERS) return false
  const all = [...answers, next]
  const [before, then] = [runbookState(runbook, beganAtMs, answers), runbookState(runbook, beganAtMs, all)]
  return next.said === 'diagnose' || next.said === 'resume' || !isSame(before, then)
}

const isSame = (a: RunState, b: RunState): boolean =>
  a.at === b.at &&
  a.unsure === b.unsure &&
  a.other === b.other &&
  a.step === b.step &&
  a.visits.length === b.visits.length

const enter = (step: Step, enteredAtMs: number): Visit => ({
  step,
  enteredAtMs,
  unsure: false,
  said: undefined,
})

function after(runbook: Runbook, fold: Fold, answer: RunAnswer): Fold {
  const now = fold.visits[fold.visits.length - 1]
  if (answer.step !== now.step.id || fold.at === 'ended') return fold
  switch (answer.said) {
    case 'saw':
      return fold.at === 'step' ? onward(runbook, fold, now, answer.atMs) : fold
    case 'other':
      return fold.at === 'step' ? otherwise(runbook, fold, now, answer.other, answer.atMs) : fold
    case 'unsure':
      return fold.at === 'step'
        ? { ...fold, visits: [...fold.visits.slice(0, -1), { ...now, unsure: true }] }
        : fold
    case 'diagnose':
      return { ...fold, wasDiagnosed: true }
    case 'back':
      return backward(fold, now, answer.atMs)
    case 'again':
      return fold.at === 'trouble' ? againFrom(runbook, fold, now, answer.atMs) : fold
    case 'stop':
      return fold.at === 'stopped' ? fold : { ...fold, at: 'stopped' }
    case 'resume':
      return fold.at === 'stopped' ? { ...fold, at: fold.other === undefined ? 'step' : 'trouble' } : fold
    case 'end':
      return fold.at === 'stopped' ? { ...fold, at: 'ended' } : fold
  }
}

const withSaid = (fold: Fold, now: Visit, said: Visit['said'], next: readonly Visit[]): readonly Visit[] => [
  ...fold.visits.slice(0, -1),
  { ...now, said },
  ...next,
]

function onward(runbook: Runbook, fold: Fold, now: Visit, atMs: number): Fold {
  const next = nextStep(runbook, now.step)
  if (next === undefined) return { ...fold, at: 'ended', visits: withSaid(fold, now, 'saw', []) }
  return { ...fold, visits: withSaid(fold, now, 'saw', [enter(next, atMs)]) }
}

/** The step after this one; past the second attempt, unless it is being made. */
export function nextStep({ steps }: Pick<Runbook, 'steps'>, step: Step): Step | undefined {
  const rest = steps.slice(steps.findIndex(one => one.id === step.id) + 1)
  return step.part === 'second' ? rest[0] : rest.find(one => one.part !== 'second')
}

function otherwise(runbook: Runbook, fold: Fold, now: Visit, index: number, atMs: number): Fold {
  const other = now.step.others[index]
  if (other === undefined) return fold
  const { leads } = other
  const target = leads.to === 'step' ? runbook.steps.find(one => one.id === leads.step) : undefined
  // There is one second attempt. After it, the reason has to be looked for.
  const isSpent = target?.part === 'second' && fold.visits.some(visit => visit.step.part === 'second')
  if (target === undefined || isSpent)
    return { ...fold, at: 'trouble', other, visits: withSaid(fold, now, other, []) }
  return { ...fold, visits: withSaid(fold, now, other, [enter(target, atMs)]) }
}

/** From trouble back to its step; from a step to the one before, which is open again then. */
function backward(fold: Fold, now: Visit, atMs: number): Fold {
  if (fold.at === 'stopped') return fold
  if (fold.at === 'trouble')
    return { ...fold, at: 'step', other: undefined, visits: withSaid(fold, now, undefined, []) }
  const before = fold.visits[fold.visits.length - 2]
  if (before === undefined) return fold
  return { ...fold, visits: [...fold.visits.slice(0, -2), enter(before.step, atMs)] }
}

function againFrom(runbook: Runbook, fold: Fold, now: Visit, atMs: number): Fold {
  const step = runbook.steps.find(one => one.id === now.step.again) ?? now.step
  return { ...fold, at: 'step', other: undefined, visits: [...fold.visits, enter(step, atMs)] }
}

function told(runbook: Runbook, { visits, at, other, wasDiagnosed }: Fold): RunState {
  const now = visits[visits.length - 1]
  const isSecond = visits.some(visit => visit.step.part === 'second')
  const way = runbook.steps.filter(step => isSecond || step.part !== 'second')
  return {
    at,
    step: now.step,
    enteredAtMs: now.enteredAtMs,
    unsure: now.unsure,
    other,
    isSecond,
    canGoBack: at === 'trouble' || (at === 'step' && visits.length > 1),
    number: way.findIndex(step => step.id === now.step.id) + 1,
    of: way.length,
    facts: factsOf(visits),
    wasDiagnosed,
    visits,
  }
}

/** What was seen later goes before what was seen earlier. */
function factsOf(visits: readonly Visit[]): Record<string, Answer> {
  const facts: Record<string, Answer> = {}
  for (const { step, said, unsure } of visits) {
    if (said === 'saw') Object.assign(facts, step.facts)
    else if (said !== undefined) Object.assign(facts, said.facts)
    else if (unsure) for (const id of Object.keys(step.facts)) facts[id] ??= 'cannot-check'
  }
  return facts
}
