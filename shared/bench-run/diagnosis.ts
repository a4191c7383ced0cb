import type { SymptomId } from '../diagnose/report.ts'
import type { LogEvent } from '../logbook/event.ts'
import type { PhaseId } from '../sim/trace.ts'
import type { EchoFound } from './echo-words.ts'

/** What the Diagnose view begins with after a write that failed: what was seen, and what the session knows already. */
export interface KnownTrouble {
  readonly symptom: SymptomId
  readonly answers: Record<string, 'yes' | 'no'>
}

type Failure = Extract<LogEvent, { kind: 'attempt-failed' }>

/**
 * @param echo what became of what was sent, where a line was there at all
 * @returns undefined where nothing failed that a look at the bench would explain
 */
export function troubleOf(events: readonly LogEvent[], echo?: EchoFound): KnownTrouble | undefined {
  const failures = events.flatMap(event => (event.kind === 'attempt-failed' ? [event] : []))
  const [first] = failures
  if (first === undefined) return undefined
  const until = events.slice(0, events.indexOf(first))
  const phases = until.flatMap(event => (event.kind === 'phase' ? [event.phase] : []))
  // It has named itself where the session went on from there.
  const named = phases.includes('identify') && phases.at(-1) !== 'identify'
  const checked = phases.includes('check') && phases.at(-1) !== 'check'
  return {
    symptom: symptomOf(first, phases.at(-1), named),
    answers: {
      ...(named ? { 'receiver-named': 'yes' } : {}),
      ...(checked ? { 'image-passes': 'yes' } : {}),
      ...(failures.length > 1 ? { 'second-try': 'no' } : {}),
      ...echoAnswer(echo),
    },
  }
}

/**
 * Whether what was sent came back. Where only something else did, the line may have a wire for each direction or
 * somebody talks over it: that is no answer to this question.
 */
function echoAnswer(echo: EchoFound | undefined): KnownTrouble['answers'] {
  if (echo?.seen === 'came-back') return { 'echo-back': 'yes' }
  return echo?.seen === 'silence' && echo.expected ? { 'echo-back': 'no' } : {}
}

const BEHIND_WRITING: readonly (PhaseId | undefined)[] = ['verify', 'commit', 'restart']

function symptomOf({ code }: Failure, phase: PhaseId | undefined, named: boolean): SymptomId {
  const wrote = BEHIND_WRITING.includes(phase) || (phase === 'write' && code === 'lost-contact')
  if (wrote || code === 'verify-differs' || code === 'not-started')
    return code === 'verify-differs' || code === 'not-started' ? 'verify-fails' : 'stops'
  if (code === 'no-answer' || (code === 'lost-contact' && !named)) return 'no-answer'
  return 'write-refused'
}
