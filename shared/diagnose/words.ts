import type { Route } from '../model/units.ts'
import type { SymptomId } from './report.ts'

/** What the person sees, as a heading and as a sentence that can follow "with it in place,". */
export interface SymptomWords {
  readonly label: string
  readonly sentence: string
  /** Which way an update goes that can end so; the first is taken where nobody says. */
  readonly routes: readonly Route[]
}

export const symptomWords: Readonly<Record<SymptomId, SymptomWords>> = {
  'card-not-seen': {
    label: 'The radio does not see the card, or cannot use it',
    sentence: 'the radio does not get at the image on its card',
    routes: ['cable', 'wireless'],
  },
  dead: {
    label: 'The receiver is dead: no light',
    sentence: 'the receiver stays dark',
    routes: ['cable', 'wireless'],
  },
  'not-offered': {
    label: 'The wireless update is not offered',
    sentence: 'the radio does not offer the wireless update',
    routes: ['wireless'],
  },
  'not-found': {
    label: 'It is offered, but the receiver does not appear',
    sentence: 'the radio looks for the receiver and does not find it',
    routes: ['wireless'],
  },
  'no-answer': {
    label: 'The cable does not answer',
    sentence: 'nobody answers over the cable',
    routes: ['cable'],
  },
  'write-refused': {
    label: 'Writing is refused at the first block, or before it',
    sentence: 'the update ends before anything is written',
    routes: ['cable', 'wireless'],
  },
  stops: {
    label: 'It starts, and stops on the way',
    sentence: 'the update starts and breaks off on the way',
    routes: ['cable', 'wireless'],
  },
  'verify-fails': {
    label: 'It writes to the end, but the check fails',
    sentence: 'what the receiver holds at the end is not what was sent',
    routes: ['cable', 'wireless'],
  },
  'no-bind': {
    label: 'It is updated and runs, but does not bind',
    sentence: 'the update goes through, but receiver and module do not talk afterwards',
    routes: ['cable', 'wireless'],
  },
  'no-telemetry': {
    label: 'It binds, but sends no telemetry',
    sentence: 'the update goes through and it binds, but nothing comes back from the receiver',
    routes: ['cable', 'wireless'],
  },
  'short-range': {
    label: 'Range is poor since the update',
    sentence: 'the update goes through, but the range check fails',
    routes: ['cable', 'wireless'],
  },
}
