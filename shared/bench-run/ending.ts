import { isProven, type ReceiverState, receiverStateWords, type WriteEnd } from '../dialect/plan.ts'
import type { LogEvent } from '../logbook/event.ts'
import type { SessionEnding } from '../logbook/session.ts'
import type { Outcome } from '../procedure/effects.ts'
import { troubleOf } from './diagnosis.ts'
import { type EchoFound, echoWords } from './echo-words.ts'
import { effortIn } from './effort.ts'
import type { WriteEnding } from './lane.ts'
import { type StateKnown, stateOf } from './state-of.ts'

/** How a write ended, from what its procedure returned, or from what was committed where it did not return. */

export type Ended =
  | { readonly how: 'returned'; readonly end: WriteEnd }
  | {
      readonly how: 'cancelled' | 'port-lost' | 'stopped'
      readonly code: string | null
      readonly text: string
    }

export interface EndingFacts {
  readonly ended: Ended
  /** All that was committed, in order. */
  readonly log: readonly LogEvent[]
  readonly backupFile: string | null
  readonly seconds: number
  readonly afterwards: readonly string[]
  /** What became of what was sent, where a line was there at all. */
  readonly echo?: EchoFound | undefined
}

const NO_PROOF: WriteEnding['proof'] = { verified: 'none', started: false, identified: false }

/** Nothing was changed, but whether a receiver that says nothing starts as before is not known either. */
const AFTER_SILENCE =
  'See to that, and write again. To leave it as it is, switch it off and on, and check that it works before you use it.'
const isSilent = (outcome: WriteEnding['outcome'], state: ReceiverState, code: string | null): boolean =>
  outcome === 'failed' && state === 'as-before' && code === 'no-answer'

export function endingOf({ ended, log, backupFile, seconds, afterwards, echo }: EndingFacts): WriteEnding {
  const known = stateNow(ended, log)
  const end = ended.how === 'returned' ? ended.end : undefined
  const outcome = outcomeOf(ended)
  const wentWell = outcome === 'updated' || outcome === 'unproven'
  const code = end ? (end.code ?? null) : ended.how === 'returned' ? null : ended.code
  const text = end ? end.text : ended.how === 'returned' ? '' : ended.text
  const ofTheLine = echo === undefined ? '' : echoWords(echo, { outcome, code })
  return {
    outcome,
    code,
    text: `${text} ${ofTheLine}`.trim(),
    state: known.state,
    stateWords: known.is,
    nextWords: isSilent(outcome, known.state, code) ? AFTER_SILENCE : known.next,
    proof: end?.proof ?? NO_PROOF,
    identity: (end?.identity ?? []).map(({ label, value }) => ({ label, value })),
    backupFile,
    ...(end ? { attempts: end.attempts, retries: end.retries } : effortIn(log)),
    seconds: Math.round(seconds * 10) / 10,
    diagnosis: wentWell || outcome === 'cancelled' ? null : (troubleOf(log, echo) ?? null),
    afterwards: wentWell ? [...afterwards] : [],
  }
}

function outcomeOf(ended: Ended): WriteEnding['outcome'] {
  if (ended.how !== 'returned') return ended.how === 'stopped' ? 'failed' : ended.how
  if (ended.end.ended === 'failed') return 'failed'
  return isProven(ended.end) ? 'updated' : 'unproven'
}

/** A receiver that has not shown that it runs the image is never told to. */
function stateNow(ended: Ended, log: readonly LogEvent[]): StateKnown {
  if (ended.how !== 'returned' || ended.end.ended === 'failed') return stateOf(log)
  const state: ReceiverState = isProven(ended.end) ? 'runs-new' : 'written-not-proven'
  return { state, ...receiverStateWords[state] }
}

export const sessionEnding = ({ outcome }: WriteEnding): SessionEnding =>
  outcome === 'cancelled' ? 'cancelled' : outcome === 'updated' || outcome === 'unproven' ? 'done' : 'failed'

/** What became of the receiver, for the logbook; null where it is not known. */
export function loggedOutcome({ outcome, state }: WriteEnding, onlyBootRom: boolean): Outcome | null {
  if (outcome === 'updated') return 'updated'
  if (state === 'as-before') return 'unchanged'
  if (state === 'in-boot-loader' || state === 'partly-written')
    return onlyBootRom ? 'needs-boot-rom' : 'needs-cable'
  return null
}

/** The last thing that is committed of what the receiver is in. */
export function stateEvent({ state, stateWords, identity }: WriteEnding, onlyBootRom: boolean): LogEvent {
  const version = identity.find(field => field.label === 'Firmware')?.value
  const loader = onlyBootRom ? 'in-boot-rom' : 'in-boot-loader'
  return {
    kind: 'state',
    state:
      state === 'runs-new' || state === 'as-before'
        ? 'runs'
        : state === 'in-boot-loader' || state === 'partly-written'
          ? loader
          : 'not-known',
    ...(state === 'runs-new' && version !== undefined ? { version } : {}),
    text: stateWords,
  }
}
