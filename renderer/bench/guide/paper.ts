import { expectedMs, type Part, partWords, type Runbook, type Step } from '../../../shared/runbook/schema.ts'
import type { RunAnswer, RunState } from '../../../shared/runbook/state.ts'
import { isWaiting, repairLabel, sayTime } from './words.ts'

/** A guided run on paper: all steps in their order, with what was answered to each, and when. */

export interface PaperAnswer {
  readonly atMs: number
  readonly text: string
  /** How long the step had been shown; where it was gone through in one go. */
  readonly tookMs: number | undefined
}

export interface PaperStep {
  readonly step: Step
  /** As the run counts; a second attempt that there was none of has letters. */
  readonly number: string
  readonly usual: string
  readonly isNow: boolean
  /** How to be sure is told where somebody was not. */
  readonly isUnsure: boolean
  readonly answers: readonly PaperAnswer[]
}

export interface PaperPart {
  readonly part: Part
  readonly title: string
  readonly steps: readonly PaperStep[]
}

interface Run {
  readonly runbook: Runbook
  readonly state: RunState
  readonly answers: readonly RunAnswer[]
}

/** @returns all steps in the order of the runbook, under the names of their parts */
export function paperOf(run: Run): readonly PaperPart[] {
  const { runbook, state } = run
  const way = runbook.steps.filter(step => state.isSecond || step.part !== 'second')
  const aside = runbook.steps.filter(step => !way.includes(step))
  const numberOf = (step: Step) =>
    way.includes(step) ? String(way.indexOf(step) + 1) : String.fromCharCode(97 + aside.indexOf(step))
  const parts: { part: Part; title: string; steps: PaperStep[] }[] = []
  for (const step of runbook.steps) {
    const { part } = step
    // What follows a second attempt belongs to the update again, and keeps its place.
    if (parts.at(-1)?.part !== part)
      parts.push({ part, title: aside.includes(step) ? asideTitle(state) : partWords[part], steps: [] })
    const given = run.answers.filter(one => one.step === step.id)
    parts.at(-1)?.steps.push({
      ...{ step, number: numberOf(step), usual: usualTime(step) },
      isNow: state.at !== 'ended' && state.step.id === step.id,
      isUnsure: given.some(one => one.said === 'unsure'),
      answers: given.map(one => answerOf(run, step, one)),
    })
  }
  return parts
}

const asideTitle = ({ at }: RunState): string =>
  at === 'ended' ? `${partWords.second}: there was none` : `${partWords.second}, if the first write fails`

const usualTime = (step: Step): string =>
  isWaiting(step)
    ? `About ${sayTime(expectedMs(step))}, as rehearsed.`
    : `Usually ${sayTime(expectedMs(step))}.`

function answerOf({ state }: Run, step: Step, answer: RunAnswer): PaperAnswer {
  const visit = state.visits.find(
    one => one.step.id === step.id && one.saidAtMs === answer.atMs && !one.isBroken,
  )
  const { atMs } = answer
  return { atMs, text: sayAnswer(step, answer), tookMs: visit && atMs - visit.enteredAtMs }
}

const plainWords: Readonly<Record<Exclude<RunAnswer['said'], 'saw' | 'other' | 'again'>, string>> = {
  unsure: 'Not sure.',
  back: 'Went back.',
  diagnose: 'Looked for the reason in Diagnose.',
  helped: 'It was what Diagnose had advised.',
  'not-that': 'It was not what Diagnose had advised.',
  stop: 'Stopped the run.',
  resume: 'Went on with the run.',
  end: 'Ended the run.',
}

function sayAnswer(step: Step, answer: RunAnswer): string {
  switch (answer.said) {
    case 'saw':
      return `Saw it.${advised(answer.repaired)}`
    case 'again':
      return `Put right, and done again.${advised(answer.repaired)}`
    case 'other':
      return `Saw something else: ${step.others[answer.other]?.text ?? 'not said what'}`
    default:
      return plainWords[answer.said]
  }
}

const advised = (causes: readonly string[] | undefined): string =>
  causes === undefined ? '' : ` Diagnose had advised: ${repairLabel(causes)}`

/** What a run has come to, in a line. */
export function standsAt({ state, runbook }: Pick<Run, 'state' | 'runbook'>): string {
  const where = `step ${state.number} of ${state.of}`
  switch (state.at) {
    case 'step':
      return `It is at ${where}.`
    case 'trouble':
      return `It is at ${where}, where something else was seen.`
    case 'stopped':
      return `It was stopped at ${where}.`
    case 'ended':
      return state.step.id === runbook.steps[runbook.steps.length - 1].id
        ? 'It has ended, after the last step.'
        : `It was ended at ${where}.`
  }
}
