import { type ReceiverState, receiverStateWords } from '../dialect/plan.ts'
import type { LogEvent } from '../logbook/event.ts'

/**
 * What a receiver holds, by what was committed before its session broke off. Every effect was announced before it was
 * carried out: the last one may have been done, in part or not at all; every one before it has been.
 */
export interface StateKnown {
  readonly state: ReceiverState
  /** In words: what it is, and what to do next. */
  readonly is: string
  readonly next: string
}

/** The port did not open, or nothing came after that. Another program may be writing on it: no switching off here. */
const UNTOUCHED: StateKnown = {
  state: 'as-before',
  is: 'This write sent nothing to it.',
  next: 'Leave the receiver as it is. If another program has the port, that one may be writing: let it come to its end.',
}
const MAYBE_ERASED: StateKnown = {
  state: 'not-known',
  is: 'Erasing was about to begin. Whether it did is not known: the receiver may hold what it held before, or nothing whole.',
  next: 'Leave it connected and write the image again; until then it does not fly.',
}
const MAYBE_WRITTEN: StateKnown = {
  state: 'not-known',
  is: 'Writing was about to begin. Whether it did is not known: the receiver may hold what it held before, or a part of the new image.',
  next: 'Write the image again from the start. Do not use the receiver before that went through.',
}
const MAYBE_WHOLE: StateKnown = {
  state: 'not-known',
  is: 'The last part of the image was being written. Whether all of it is there is not known.',
  next: 'Write the image again from the start. Do not use the receiver before that went through.',
}
const MAYBE_STARTED: StateKnown = {
  state: 'not-known',
  is: 'The image was written, and the receiver was being restarted. Whether it runs the new image was not seen any more.',
  next: 'Switch the receiver off and on. Where the radio does not show that it runs the new version, write it again: that harms nothing.',
}

const known = (state: ReceiverState): StateKnown => ({ state, ...receiverStateWords[state] })

/** Nothing of the image is whole any more, whatever comes next. */
const isBroken = ({ state }: StateKnown) => state === 'in-boot-loader' || state === 'partly-written'

const isOpening = (event: LogEvent): boolean =>
  (event.kind === 'effect' && event.effect === 'line') || event.kind === 'state'

/** @param events all that was committed, in order */
export function stateOf(events: Iterable<LogEvent>): StateKnown {
  let now = UNTOUCHED
  /** The step that was announced last; progress shows that it was really carried out. */
  let pending: 'erase' | 'write' | undefined
  for (const event of events) {
    if (now === UNTOUCHED && !isOpening(event)) now = known('as-before')
    if (event.kind === 'progress') {
      if (pending === 'erase' && event.done > 0) now = known('in-boot-loader')
      if (pending === 'write' && event.done > 0 && now !== MAYBE_WHOLE) now = known('partly-written')
    } else if (event.kind === 'phase') pending = undefined
    else if (event.kind === 'outcome' && event.outcome === 'updated') now = known('runs-new')
    else if (event.kind === 'attempt-failed' && event.code === 'verify-differs') now = known('partly-written')
    else if (event.kind === 'effect') {
      pending = event.effect === 'erase' || event.effect === 'write' ? event.effect : undefined
      now = event.last ? MAYBE_WHOLE : announced(now, event.effect)
    }
  }
  return now
}

function announced(now: StateKnown, effect: string): StateKnown {
  switch (effect) {
    case 'erase':
      return isBroken(now) ? known('in-boot-loader') : MAYBE_ERASED
    case 'write':
      // Where an erase was announced before, it has been carried out by now.
      return isBroken(now) || now === MAYBE_ERASED ? known('partly-written') : MAYBE_WRITTEN
    case 'verify':
    case 'commit':
      return known('written-not-proven')
    case 'restart':
      return MAYBE_STARTED
    default:
      return now
  }
}
