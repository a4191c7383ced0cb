import { findCause } from '../diagnose/causes.ts'
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
const AGAIN = /^again after (one of )?([a-z0-9+-]{1,150})$/

/** @returns the event, with what the person read and what they saw instead in words, so that it can be read without us */
export function toLogged(runbook: Runbook, answer: RunAnswer): LoggedAnswer {
  const step = runbook.steps.find(one => one.id === answer.step)
  const text = step?.text ?? ''
  if (answer.said === 'again') return againLogged(answer, text)
  if (answer.said !== 'other') return { kind: 'answer', to: answer.step, said: answer.said, text }
  const seen = step?.others[answer.other]?.text
  return {
    kind: 'answer',
    to: answer.step,
    said: `other ${answer.other}`,
    text: seen === undefined ? text : `${text} Seen instead: ${seen}`,
  }
}

function againLogged({ step, repaired, isOneOf }: Extract<RunAnswer, { said: 'again' }>, text: string) {
  const said = `again after ${isOneOf ? 'one of ' : ''}${repaired?.join('+') ?? ''}`
  // A list that could not be read again is worth nothing.
  if (repaired === undefined || !AGAIN.test(said))
    return { kind: 'answer', to: step, said: 'again', text } as const
  const labels = repaired.map(id => findCause(id)?.repair.label ?? id).join(' ')
  return { kind: 'answer', to: step, said, text: `${text} Advised before: ${labels}` } as const
}

/** @returns undefined for an event that is no answer of a guided run */
export function fromLogged(
  event: { readonly kind: string; readonly to?: string; readonly said?: string },
  atMs: number,
): RunAnswer | undefined {
  if (event.kind !== 'answer' || event.said === undefined) return undefined
  const parsed = runAnswerSchema.safeParse({ step: event.to, atMs, ...saidOf(event.said) })
  return parsed.success ? parsed.data : undefined
}

function saidOf(said: string) {
  const other = OTHER.exec(said)
  if (other !== null) return { said: 'other', other: Number(other[1]) }
  const again = AGAIN.exec(said)
  if (again === null) return { said }
  return { said: 'again', repaired: again[2].split('+'), ...(again[1] ? { isOneOf: true } : {}) }
}
