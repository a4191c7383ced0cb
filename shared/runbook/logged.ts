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
const ADVISED = /^(again|saw) after (one of )?([a-z0-9+-]{1,150})$/

/** @returns the event, with what the person read and what they saw instead in words, so that it can be read without us */
export function toLogged(runbook: Runbook, answer: RunAnswer): LoggedAnswer {
  const step = runbook.steps.find(one => one.id === answer.step)
  const text = step?.text ?? ''
  if (answer.said === 'again' || answer.said === 'saw') return advisedLogged(answer, text)
  if (answer.said !== 'other') return { kind: 'answer', to: answer.step, said: answer.said, text }
  const seen = step?.others[answer.other]?.text
  return {
    kind: 'answer',
    to: answer.step,
    said: `other ${answer.other}`,
    text: seen === undefined ? text : `${text} Seen instead: ${seen}`,
  }
}

type Advised = Extract<RunAnswer, { said: 'again' | 'saw' }>

function advisedLogged({ step, said, repaired, isOneOf }: Advised, text: string): LoggedAnswer {
  const after = `${said} after ${isOneOf ? 'one of ' : ''}${repaired?.join('+') ?? ''}`
  // A list that could not be read again is worth nothing.
  if (repaired === undefined || !ADVISED.test(after)) return { kind: 'answer', to: step, said, text }
  const labels = repaired.map(id => findCause(id)?.repair.label ?? id).join(' ')
  return { kind: 'answer', to: step, said: after, text: `${text} Advised before: ${labels}` }
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
  const advised = ADVISED.exec(said)
  if (advised === null) return { said }
  return { said: advised[1], repaired: advised[3].split('+'), ...(advised[2] ? { isOneOf: true } : {}) }
}
