import { isKnown, type Known } from '../model/units.ts'
import { type PhaseTime, sumMs } from './durations.ts'
import type { Other, Step } from './schema.ts'
import {
  cautionOf,
  isFedThroughCable,
  minutes,
  notSo,
  radioFirst,
  radioName,
  type Subject,
  sees,
  step,
} from './subject.ts'

/** Half a minute before a second attempt, so that everything has come to rest. Common practice, no source. */
export const PAUSE_MS = 30_000

/** The update, and a second attempt at it. That a first write fails and a second works is common practice. */
export const stepsUpdate = (of: Subject): Step[] => [
  start(of, 1),
  watch(of, 1),
  secondPause(of),
  secondRestart(of),
  secondVersion(of),
  start(of, 2),
  watch(of, 2),
  version(of),
]

type Attempt = 1 | 2
const idOf = (what: 'start' | 'watch', attempt: Attempt) => (attempt === 1 ? what : `second-${what}`)

/** What the rehearsal took for an attempt; a second one that it did not need is expected to take as long as the first. */
const timesOf = (of: Subject, attempt: Attempt) => of.times.attempts[attempt - 1] ?? of.times.attempts[0]

/** Trouble that a second attempt is worth, when it is the first. */
function worthAnother(attempt: Attempt, other: Other): Other {
  return attempt === 1 ? { ...other, leads: { to: 'step', step: 'second-pause' } } : other
}

function start(of: Subject, attempt: Attempt): Step {
  const isCable = of.s.route === 'cable'
  const lit: Step['facts'] = isFedThroughCable(of) ? { 'receiver-light': 'yes', 'supply-present': 'yes' } : {}
  const phases: readonly PhaseTime[] = timesOf(of, attempt)?.start ?? []
  return step({
    id: idOf('start', attempt),
    part: attempt === 1 ? 'update' : 'second',
    text: `${attempt === 1 ? 'At' : 'Once more: at'} ${radioName(of)}, start the update of the receiver ${isCable ? 'by cable' : 'by air'}, with the file ${of.files[0]}.`,
    expect: `${isFedThroughCable(of) ? 'A light comes on at the receiver, and the' : 'The'} radio says which receiver it has found: ${of.s.receiverType.maker} ${of.s.receiverType.name}.`,
    caution: cautionOf(of, 'keep-still'),
    sure: 'It is said in the first seconds, before anything is written. If writing has begun, go on to the next step.',
    rehearsedMs: sumMs(phases),
    handsMs: 20_000,
    phases: [...phases],
    facts: { 'receiver-named': 'yes', ...lit },
    others: isCable
      ? [
          worthAnother(
            attempt,
            sees('Nobody answers over the cable.', 'no-answer', { 'receiver-named': 'no' }),
          ),
          ...refusedOrDead('It ends at once, or says no.'),
          sees('It cannot use the card or the file.', 'card-not-seen', {}),
        ]
      : [
          sees('The radio does not offer it.', 'not-offered', {}),
          worthAnother(
            attempt,
            sees('It looks for the receiver and does not find it.', 'not-found', { 'receiver-named': 'no' }),
          ),
          ...refusedOrDead('It ends at once, or says no.'),
          sees('It cannot use the card or the file.', 'card-not-seen', {}),
        ],
  })
}

const refusedOrDead = (text: string): Other[] => [
  sees(text, 'write-refused', {}),
  sees('The receiver is dark.', 'dead', { 'receiver-light': 'no' }),
]

function watch(of: Subject, attempt: Attempt): Step {
  const phases: readonly PhaseTime[] = timesOf(of, attempt)?.watch ?? []
  const failed: Other['facts'] = attempt === 2 ? { 'second-try': 'no' } : {}
  return step({
    id: idOf('watch', attempt),
    part: attempt === 1 ? 'update' : 'second',
    text: 'Hands off. Let the radio write, and watch its progress and the light of the receiver.',
    expect: 'The radio says that the update is done.',
    caution: cautionOf(of, 'keep-still'),
    sure: 'As long as its progress moves, it is at work. A real radio can be slower than the rehearsal.',
    rehearsedMs: sumMs(phases),
    phases: [...phases],
    facts: { 'light-stays': 'yes', ...(attempt === 2 ? { 'second-try': 'yes' as const } : {}) },
    others: [
      worthAnother(attempt, sees('It started, and stopped on the way.', 'stops', failed)),
      worthAnother(attempt, sees('It wrote to the end, but its check failed.', 'verify-fails', failed)),
      sees('It was refused before anything was written.', 'write-refused', failed),
      sees('The receiver has gone dark.', 'dead', { ...failed, 'light-stays': 'no', 'receiver-light': 'no' }),
    ],
    again: idOf('start', attempt),
  })
}

function secondPause(of: Subject): Step {
  const [pauseMs] = of.times.pausesMs
  return step({
    id: 'second-pause',
    part: 'second',
    text: `The first write has failed. That is common, and the second often works. Leave everything as it is${of.s.route === 'cable' ? ', the cable plugged in,' : ''} and wait half a minute.`,
    expect: 'The radio has ended the update by itself, and shows no progress any more.',
    caution: cautionOf(of, 'keep-still'),
    sure: 'If its progress still moves, it has not failed: go one step back and go on watching.',
    rehearsedMs: pauseMs ?? 0,
    handsMs: PAUSE_MS,
    others: [sees('It does not end the update by itself.', 'stops')],
  })
}

function secondRestart(of: Subject): Step {
  const isFed = isFedThroughCable(of)
  const off = isFed
    ? `Switch ${radioName(of)} off: the receiver goes off with it. Wait until its light is out, and switch the radio on again.`
    : `Take the power from the receiver, and switch ${radioName(of)} off. Then on again in the same order: radio first, receiver after it.`
  return step({
    id: 'second-restart',
    part: 'second',
    text: off,
    expect: isFed
      ? `${radioFirst(of)} has started again.`
      : 'The radio has started again, and a light comes on at the receiver.',
    caution: cautionOf(of, 'drive'),
    sure: 'Count to five while everything is dark.',
    handsMs: 30_000,
    others: [sees('The receiver stays dark.', 'dead', { 'receiver-light': 'no' })],
  })
}

function secondVersion(of: Subject): Step {
  const { firmware } = of.s.receiver
  const next = isKnown(of.image.card.version) ? of.image.card.version : undefined
  const old = isKnown(firmware) ? firmware : 'the old version'
  return step({
    id: 'second-version',
    part: 'second',
    text: 'Look up at the radio which firmware the receiver says that it runs, if it says any.',
    expect: `It still says ${old}, or none because it waits in its boot loader. Both are fine for a second attempt.`,
    sure: 'A receiver that waits in its boot loader often shows it with its light, and does not follow the sticks.',
    handsMs: minutes(1),
    others: [
      ...(next === undefined
        ? []
        : [
            {
              text: `It says ${next} already.`,
              facts: {},
              leads: { to: 'step' as const, step: 'version' },
            },
          ]),
      sees('The receiver is dark.', 'dead', { 'receiver-light': 'no' }),
    ],
  })
}

/** A radio may show the numbers only, and then a pre-release cannot be told from what it comes before. */
function versionToSee(next: Known<string>): string {
  if (!isKnown(next)) return 'It runs another version than before.'
  const [numbers] = next.split(/[-+]/)
  return numbers === next
    ? `It runs ${next}.`
    : `It runs ${next}. Where the radio shows ${numbers} only, that is as much as can be seen here.`
}

function version(of: Subject): Step {
  const { version: next } = of.image.card
  const isByAir = of.s.route === 'wireless'
  return step({
    id: 'version',
    part: 'update',
    text: 'Look up at the radio which firmware the receiver runs now.',
    expect: versionToSee(next),
    sure: 'Switch the receiver off and on once, and look again.',
    handsMs: minutes(1),
    others: [
      {
        text: 'It still runs the old version, or none.',
        symptom: 'stops',
        facts: {},
        leads: { to: 'step', step: 'second-pause' },
      },
      isByAir
        ? notSo('It runs something else altogether.')
        : sees('The radio does not hear from the receiver.', 'no-bind', { 'bound-light': 'no' }),
    ],
  })
}
