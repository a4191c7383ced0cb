import type { Runbook } from './schema.ts'
import { type RunAnswer, runAnswerSchema } from './state.ts'

/** An answer of a guided run as the logbook keeps it: a person said something of a step. */
export interface LoggedAnswer {
  readonly kind: 'answer'
  readonly to: string
  readonly said: string
  readonly text: string
}

const OTHER = /^other (\d{1,2})$/

/** @returns the event, with what the person read and what they saw instead in words, so that it can be read without us */
export function toLogged(runbook: Runbook, answer: RunAnswer): LoggedAnswer {
  const step = runbook.steps.find(one => one.id === answer.step)
  const text = step?.text ?? ''
  if (answer.said !== 'other') return { kind: 'answer', to: answer.step, said: answer.said, text }
  const seen = step?.others[answer.other]?.text
  return {
    kind: 'answer',
    to: answer.step,
    said: `other ${answer.other}`,
    text: seen === undefined ? text : `${text} Seen instead: ${seen}`,
  }
}

/** @returns undefined for an event that is no answer of a guided run */
export function fromLogged(
  event: { readonly kind: string; readonly to?: string; readonly said?: string },
  atMs: number,
): RunAnswer | undefined {
  if (event.kind !== 'answer' || event.said === undefined) return undefined
  const other = OTHER.exec(event.said)
  const said = other === null ? { said: event.said } : { said: 'other', other: Number(other[1]) }
  const parsed = runAnswerSchema.safeParse({ step: event.to, atMs, ...said })
  return parsed.success ? parsed.data : undefined
}
