import type { RunbookStep } from '../rehearse/report.ts'
import type { Runbook } from './schema.ts'
import type { RunState } from './state.ts'

/** What became of the receiver when a guided run ended where it did. */
export const RECEIVER_LEFT = [
  'as-before',
  'partly-written',
  'not-known',
  'written-not-proven',
  'runs-new',
] as const
export type ReceiverLeft = (typeof RECEIVER_LEFT)[number]

export const leftWords: Readonly<Record<ReceiverLeft, string>> = {
  'as-before': 'Nothing has been written. The receiver is as it was before.',
  'partly-written':
    'Writing had begun and did not end well. The receiver may wait in its boot loader; what it ran before may be gone.',
  'not-known':
    'Whether writing had begun is not known. If the radio still writes, let it end: do not pull anything out.',
  'written-not-proven':
    'The radio said that it is done, but nobody has seen yet which firmware the receiver runs.',
  'runs-new': 'The receiver runs the new firmware.',
}

export interface Left {
  readonly receiver: ReceiverLeft
  /** Everything after the update has been seen too. */
  readonly isChecked: boolean
  /** What to do next, rehearsed where it brings a receiver back. */
  readonly steps: readonly RunbookStep[]
  /** The same where it stays dark after a conversion that was broken off: by the loader in the chip. */
  readonly lastResort: readonly RunbookStep[]
}

const isWatch = (id: string) => id === 'watch' || id === 'second-watch'
const isStart = (id: string) => id === 'start' || id === 'second-start'

/** What the receiver is in when the run is left in this state, judged by what was seen and by nothing else. */
export function receiverLeft(state: RunState): ReceiverLeft {
  let left: ReceiverLeft = 'as-before'
  for (const { step, said } of state.visits) {
    if (step.id === 'version' && said === 'saw') left = 'runs-new'
    else if (isWatch(step.id)) left = afterWatch(said, left)
    else if (isStart(step.id)) left = afterStart(said, left)
  }
  return left
}

type Said = RunState['visits'][number]['said']

function afterStart(said: Said, before: ReceiverLeft): ReceiverLeft {
  // Once something was half written, asking again and being turned away changes nothing about it.
  const worse = before === 'partly-written' ? before : undefined
  if (said === undefined || said === 'saw') return worse ?? 'not-known'
  return said.symptom === 'dead' ? 'not-known' : (worse ?? 'as-before')
}

function afterWatch(said: Said, before: ReceiverLeft): ReceiverLeft {
  if (said === 'saw') return 'written-not-proven'
  if (said === undefined) return before === 'partly-written' ? before : 'not-known'
  if (said.symptom === 'write-refused') return before === 'partly-written' ? before : 'as-before'
  return said.symptom === 'dead' ? 'not-known' : 'partly-written'
}

/** What the run leaves behind, and what to do about it. */
export function leftBy(runbook: Runbook, state: RunState): Left {
  const receiver = receiverLeft(state)
  const needsRecovery = receiver === 'partly-written' || receiver === 'not-known'
  return {
    receiver,
    isChecked: receiver === 'runs-new' && isLastSeen(runbook, state),
    steps: needsRecovery
      ? [...(mayStillWrite(state) ? [WAIT] : []), ...(runbook.recovery.written?.steps ?? [])]
      : whatIsLeft(runbook, state, receiver),
    lastResort: needsRecovery ? (runbook.recovery.bootLoader?.steps ?? []) : [],
  }
}

/**
 * The update was started, and nobody has said how it went: the radio may be at it. That the receiver is dark says
 * nothing of the radio.
 */
export function mayStillWrite({ visits }: RunState): boolean {
  const { step, said } = visits[visits.length - 1]
  const isOpen = said === undefined || (said !== 'saw' && said.symptom === 'dead')
  return (isStart(step.id) || isWatch(step.id)) && isOpen
}

/** Whatever comes next would take the card or the supply away from a radio that still writes. */
const WAIT: RunbookStep = {
  text: 'Wait until the radio has ended the update by itself.',
  expect:
    'It shows no progress any more. If it says that the update is done, go on with the run: nothing else is needed.',
  caution: 'Until then nothing is unplugged and nothing is switched off.',
  minutes: 2,
}

const isLastSeen = ({ steps }: Runbook, { visits }: RunState): boolean => {
  const now = visits[visits.length - 1]
  return now.step.id === steps[steps.length - 1].id && now.said === 'saw'
}

/** The steps of the run itself that are still to be done. */
function whatIsLeft({ steps }: Runbook, { visits }: RunState, receiver: ReceiverLeft): RunbookStep[] {
  if (receiver === 'as-before')
    return [
      {
        text: 'Switch receiver and radio off, unplug the update cable if it is plugged in, and put everything back as it was.',
        expect: 'The receiver starts and answers the sticks as before.',
        minutes: 3,
      },
    ]
  const seen = new Set(visits.filter(v => v.said === 'saw').map(v => v.step.id))
  const from = steps.findIndex(step => step.id === 'version')
  return steps
    .slice(from)
    .filter(step => !seen.has(step.id))
    .map(({ text, expect, caution, handsMs }) => ({
      text,
      expect,
      ...(caution === undefined ? {} : { caution }),
      minutes: Math.max(1, Math.round(handsMs / 60_000)),
    }))
}
