import { type AfterwardsId, afterwardsOf } from '../fit/afterwards.ts'
import type { Other, Step } from './schema.ts'
import { cautionOf, isFedThroughCable, minutes, notSo, type Subject, sees, step } from './subject.ts'

/** What is left to do before the model flies: from `fit/afterwards.ts`, each as a step, with what should be seen. */
export const stepsAfter = (of: Subject): Step[] => [
  putBack(of),
  ...afterwardsOf(of.s).map(({ id, text }) => after(of, id, text)),
]

function putBack(of: Subject): Step {
  const isCable = of.s.route === 'cable'
  const sensors = of.sensors.length > 0 ? ' and the sensors' : ''
  return step({
    id: 'put-back',
    part: 'after',
    text: isCable
      ? `${isFedThroughCable(of) ? 'Switch the radio off: the receiver goes off with it.' : 'Switch the receiver off, then the radio.'} Unplug the update cable, and plug the supply of the receiver${sensors} in again.`
      : 'Switch the receiver off, then the radio. Then on again: radio first.',
    expect: isCable
      ? 'The update cable lies on the table. With radio and receiver on, a light comes on at the receiver.'
      : 'Radio and receiver have started again.',
    caution: cautionOf(of, 'drive'),
    sure: 'Radio first, receiver after it; the drive stays disconnected.',
    handsMs: minutes(2),
    facts: { 'receiver-light': 'yes' },
    others: [sees('The receiver stays dark.', 'dead', { 'receiver-light': 'no' })],
  })
}

interface About {
  readonly expect: string
  readonly sure: string
  readonly minutes: number
  readonly facts?: Step['facts']
  readonly others: readonly Other[]
  readonly isMoving?: boolean
}

const ABOUT: Readonly<Record<AfterwardsId, About>> = {
  bind: {
    expect:
      'The receiver shows that it is bound, follows the sticks, and telemetry comes back at a metre or two.',
    sure: 'Switch the receiver off and on with the radio on: it must come back bound by itself.',
    minutes: 3,
    facts: { 'bound-light': 'yes', 'telemetry-near': 'yes' },
    others: [
      sees('It does not bind.', 'no-bind', { 'bound-light': 'no' }),
      sees('It is bound, but sends no telemetry.', 'no-telemetry', {
        'bound-light': 'yes',
        'telemetry-near': 'no',
      }),
    ],
    isMoving: true,
  },
  settings: {
    expect: 'Every setting is as it was, or set anew.',
    sure: 'Compare with what was written down before, or with a second receiver of the type.',
    minutes: 10,
    others: [notSo('A setting cannot be made as it was.')],
  },
  new: {
    expect: 'Outputs, rates and failsafe are set as this model needs them.',
    sure: 'The manual of the receiver says which settings it has.',
    minutes: 10,
    others: [notSo('A setting cannot be made.')],
  },
  failsafe: {
    expect: 'With the radio off, every output goes where it should, and the drive would stand still.',
    sure: 'Hold the model, switch the radio off and watch; switch it on again and see the outputs come back.',
    minutes: 5,
    others: [notSo('An output does something else, or nothing.')],
    isMoving: true,
  },
  surfaces: {
    expect: 'Each surface moves when it should, and to the side that it should.',
    sure: 'One stick at a time, seen from behind the model.',
    minutes: 3,
    others: [notSo('Something moves the wrong way, or not at all.')],
    isMoving: true,
  },
  range: {
    expect: 'It follows the sticks at that distance, all the time.',
    sure: 'A helper holds the model and calls out what it does; turn it to every side once.',
    minutes: 10,
    facts: { 'range-near': 'yes' },
    others: [sees('It jerks, lags or lets go before that.', 'short-range', { 'range-near': 'no' })],
    isMoving: true,
  },
  'no-flight': {
    expect: 'Failsafe and range check have been passed, today, with this firmware.',
    sure: 'If you cannot say so of both, go back and do them.',
    minutes: 1,
    others: [notSo('One of them is still open.')],
  },
}

function after(of: Subject, id: AfterwardsId, text: string): Step {
  const { expect, sure, minutes: count, facts = {}, others, isMoving = false } = ABOUT[id]
  return step({
    id: `after-${id}`,
    part: 'after',
    text,
    expect,
    caution: isMoving ? cautionOf(of, 'drive') : undefined,
    sure,
    handsMs: minutes(count),
    facts,
    others: [...others],
  })
}
