import { z } from 'zod'
import type { Answer, SymptomId } from '../diagnose/report.ts'
import { type DueRepair, dueAfterOther, dueAfterSaw, MOST_REPAIRED, type Repair } from './repair.ts'
import type { Other, Runbook, Step } from './schema.ts'

/**
 * Where a guided run stands: worked out from the runbook and everything that was answered, so that a run is nothing but
 * its answers. They go into the logbook one by one, and whoever opens it again stands at the same step.
 */
const answerBase = { step: z.string().min(1).max(40), atMs: z.number().min(0).max(8.64e15) }
const advisedFields = {
  repaired: z.array(z.string().min(1).max(60)).min(1).max(MOST_REPAIRED).optional(),
  /** Of several at once, only one can have been the reason. */
  isOneOf: z.boolean().optional(),
}
export const runAnswerSchema = z.discriminatedUnion('said', [
  /** With what Diagnose had advised to do, where it was asked at this very step and had. */
  z.object({ ...answerBase, said: z.literal('saw'), ...advisedFields }),
  /** Something else, by its place in the list of the step. */
  z.object({ ...answerBase, said: z.literal('other'), other: z.number().int().min(0).max(20) }),
  z.object({ ...answerBase, said: z.literal('unsure') }),
  z.object({ ...answerBase, said: z.literal('back') }),
  /** The reason was looked for in the Diagnose view. */
  z.object({ ...answerBase, said: z.literal('diagnose') }),
  /** The trouble is put right; from the step that `Step.again` names. With what Diagnose had advised to do, if it had. */
  z.object({ ...answerBase, said: z.literal('again'), ...advisedFields }),
  /** What Diagnose had advised was done, and it was that. */
  z.object({ ...answerBase, said: z.literal('helped') }),
  /** It is as it should be again, but not for what Diagnose had advised. */
  z.object({ ...answerBase, said: z.literal('not-that') }),
  z.object({ ...answerBase, said: z.literal('stop') }),
  /** Gone on with after a stop, or in a window that was opened anew. */
  z.object({ ...answerBase, said: z.literal('resume') }),
  /** Stopped for good. */
  z.object({ ...answerBase, said: z.literal('end') }),
])
export type RunAnswer = z.infer<typeof runAnswerSchema>

/** More answers than anybody gives; a run that has them takes no more. */
export const MOST_ANSWERS = 2000

export interface Visit {
  readonly step: Step
  readonly enteredAtMs: number
  readonly unsure: boolean
  readonly said: 'saw' | Other | undefined
  /** When it was answered; undefined while it is open. */
  readonly saidAtMs: number | undefined
  /** Left and come back to, or stopped in: how long it was open says nothing of how long it takes. */
  readonly isBroken: boolean
  /** Entered again once something had been put right. */
  readonly isAgain: boolean
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
  /** It is as it should be again after a repair that Diagnose had advised: was it that? Until that is answered. */
  readonly repair: Repair | undefined
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
  readonly repair: DueRepair | undefined
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
    repair: undefined,
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
  (a.repair === undefined) === (b.repair === undefined) &&
  a.visits.length === b.visits.length

const enter = (step: Step, enteredAtMs: number): Visit => ({
  step,
  enteredAtMs,
  unsure: false,
  said: undefined,
  saidAtMs: undefined,
  isBroken: false,
  isAgain: false,
})

function after(runbook: Runbook, fold: Fold, answer: RunAnswer): Fold {
  const now = fold.visits[fold.visits.length - 1]
  if (answer.step !== now.step.id || fold.at === 'ended') return fold
  switch (answer.said) {
    case 'saw':
      return fold.at === 'step' ? onward(runbook, fold, now, answer) : fold
    case 'other':
      return fold.at === 'step' ? otherwise(runbook, fold, now, answer.other, answer.atMs) : fold
    case 'unsure':
      return fold.at === 'step'
        ? { ...fold, visits: [...fold.visits.slice(0, -1), { ...now, unsure: true }] }
        : fold
    case 'diagnose':
      return { ...fold, wasDiagnosed: true, visits: broken(fold, now) }
    case 'back':
      return backward(fold, now, answer.atMs)
    case 'again':
      return fold.at === 'trouble' ? againFrom(runbook, fold, now, answer) : fold
    case 'helped':
    case 'not-that':
      return fold.repair?.isDue ? { ...fold, repair: undefined } : fold
    case 'stop':
      return fold.at === 'stopped' ? fold : { ...fold, at: 'stopped', visits: broken(fold, now) }
    case 'resume':
      return fold.at === 'stopped'
        ? { ...fold, at: fold.other === undefined ? 'step' : 'trouble' }
        : // The window was gone in the meantime.
          { ...fold, visits: broken(fold, now) }
    case 'end':
      return fold.at === 'stopped' ? { ...fold, at: 'ended' } : fold
  }
}

const broken = (fold: Fold, now: Visit): readonly Visit[] => [
  ...fold.visits.slice(0, -1),
  { ...now, isBroken: true },
]

const withSaid = (
  fold: Fold,
  now: Visit,
  { said, saidAtMs }: Pick<Visit, 'said' | 'saidAtMs'>,
  next: readonly Visit[],
): readonly Visit[] => [...fold.visits.slice(0, -1), { ...now, said, saidAtMs }, ...next]

type Saw = Extract<RunAnswer, { said: 'saw' }>

function onward(runbook: Runbook, before: Fold, now: Visit, answer: Saw): Fold {
  const { atMs } = answer
  const next = nextStep(runbook, now.step)
  const advised = before.wasDiagnosed ? advisedAt(before, now.step, answer) : undefined
  const repair = dueAfterSaw(runbook, advised ?? before.repair, now.step)
  const fold = { ...before, repair, wasDiagnosed: false }
  const saw = { said: 'saw', saidAtMs: atMs } as const
  if (next === undefined) return { ...fold, at: 'ended', visits: withSaid(fold, now, saw, []) }
  return { ...fold, visits: withSaid(fold, now, saw, [enter(next, atMs)]) }
}

/** The step after this one; past the second attempt, unless it is being made. */
export function nextStep({ steps }: Pick<Runbook, 'steps'>, step: Step): Step | undefined {
  const rest = steps.slice(steps.findIndex(one => one.id === step.id) + 1)
  return step.part === 'second' ? rest[0] : rest.find(one => one.part !== 'second')
}

function otherwise(runbook: Runbook, before: Fold, now: Visit, index: number, atMs: number): Fold {
  const other = now.step.others[index]
  if (other === undefined) return before
  const fold = { ...before, repair: dueAfterOther(before.repair, other) }
  const seen = { said: other, saidAtMs: atMs }
  const { leads } = other
  const target = leads.to === 'step' ? runbook.steps.find(one => one.id === leads.step) : undefined
  // There is one second attempt. After it, the reason has to be looked for.
  const isSpent = target?.part === 'second' && fold.visits.some(visit => visit.step.part === 'second')
  if (target === undefined || isSpent)
    return { ...fold, at: 'trouble', other, wasDiagnosed: false, visits: withSaid(fold, now, seen, []) }
  return { ...fold, visits: withSaid(fold, now, seen, [enter(target, atMs)]) }
}

/** From trouble back to its step; from a step to the one before, which is open again then. */
function backward(fold: Fold, now: Visit, atMs: number): Fold {
  if (fold.at === 'stopped') return fold
  if (fold.at === 'trouble')
    return {
      ...fold,
      at: 'step',
      other: undefined,
      visits: withSaid(fold, { ...now, isBroken: true }, OPEN, []),
    }
  const before = fold.visits[fold.visits.length - 2]
  if (before === undefined) return fold
  const { isAgain } = before
  return {
    ...fold,
    visits: [...fold.visits.slice(0, -2), { ...enter(before.step, atMs), isBroken: true, isAgain }],
  }
}
const OPEN = { said: undefined, saidAtMs: undefined } as const

/** Asked without any trouble having been said, it was about what the step has to ask. */
function advisedAt(fold: Fold, step: Step, { repaired, isOneOf = false }: Saw): DueRepair | undefined {
  const symptom = step.others.find(one => one.symptom !== undefined)?.symptom
  if (repaired === undefined || symptom === undefined) return undefined
  return { symptom, causes: repaired, isOneOf, facts: factsOf(fold.visits), at: step.id, isDue: false }
}

type Again = Extract<RunAnswer, { said: 'again' }>

function againFrom(runbook: Runbook, fold: Fold, now: Visit, answer: Again): Fold {
  const step = runbook.steps.find(one => one.id === now.step.again) ?? now.step
  const visit = { ...enter(step, answer.atMs), isAgain: true }
  const { repaired, isOneOf = false } = answer
  const symptom = fold.other?.symptom
  const repair: DueRepair | undefined =
    repaired === undefined || symptom === undefined
      ? undefined
      : { symptom, causes: repaired, isOneOf, facts: factsOf(fold.visits), at: now.step.id, isDue: false }
  const visits = [...fold.visits, visit]
  return { ...fold, at: 'step', other: undefined, wasDiagnosed: false, repair, visits }
}

function told(runbook: Runbook, { visits, at, other, wasDiagnosed, repair }: Fold): RunState {
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
    repair: repair?.isDue ? repair : undefined,
    visits,
  }
}

/** What was seen, and when. What was seen later goes before what was seen earlier. */
export function looksOf(visits: readonly Visit[]): Record<string, { answer: Answer; atMs: number }> {
  const looks: Record<string, { answer: Answer; atMs: number }> = {}
  for (const { step, said, unsure, enteredAtMs, saidAtMs = enteredAtMs } of visits) {
    const seen = said === undefined ? {} : said === 'saw' ? step.facts : said.facts
    for (const [id, answer] of Object.entries(seen)) looks[id] = { answer, atMs: saidAtMs }
    if (said === undefined && unsure)
      for (const id of Object.keys(step.facts)) looks[id] ??= { answer: 'cannot-check', atMs: enteredAtMs }
  }
  return looks
}

/** The same without its times. */
export const factsOf = (visits: readonly Visit[]): Record<string, Answer> =>
  Object.fromEntries(Object.entries(looksOf(visits)).map(([id, { answer }]) => [id, answer]))
