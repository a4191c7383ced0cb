import type { Rehearsed, Said } from './check.ts'
import { differsInWord } from './compare-said.ts'
import { differsInAmount, differsInTime } from './compare-steps.ts'
import type { Difference } from './lane.ts'
import type { StepTime } from './step-log.ts'
import { writeStepWords } from './steps.ts'
import type { Trouble } from './watched.ts'

/** Where reality differs from the rehearsal of the plan. */

export interface Reality {
  readonly steps: readonly StepTime[]
  readonly retries: number
  readonly nowMs: number
  readonly repeats?: readonly Trouble[]
  readonly failures?: readonly Trouble[]
  /** What the receiver said of itself, as far as that is known by now. */
  readonly said?: readonly Said[]
  /** How often it was asked to wait; undefined until it has ended. */
  readonly waits?: number | undefined
  /** Set once it has ended: whether it ended as well as in the rehearsal. */
  readonly endedWell?: boolean | undefined
  readonly endText?: string | undefined
}

/** @returns what differs so far, in order of time; of a step that lasts, only that it lasts too long already */
export function differences(rehearsed: Rehearsed, reality: Reality): Difference[] {
  const steps = reality.steps.filter(s => s.step !== 'open')
  const found = [
    ...inOrder(rehearsed, steps),
    ...steps.flatMap((_, i) => inStep(rehearsed, reality, steps, i)),
    ...inWords(rehearsed, steps, reality.said ?? []),
    ...inRepeats(rehearsed, reality, steps.at(-1)),
    ...inEnd(rehearsed, reality, steps.at(-1)),
  ]
  return found.sort((a, b) => a.atMs - b.atMs)
}

function inStep(rehearsed: Rehearsed, reality: Reality, steps: readonly StepTime[], i: number): Difference[] {
  const expected = rehearsed.steps[i]
  const step = steps[i]
  if (expected?.step !== step.step || expected.attempt !== step.attempt) return []
  const isCut = brokeOff(steps, i, reality)
  const time = differsInTime(expected, step, reality.nowMs)
  const told = time === undefined || (isCut && time.kind === 'faster') ? [] : [time]
  return isCut || step.endMs === null ? told : [...told, ...differsInAmount(expected, step, told.length > 0)]
}

/** What broke off was not over sooner for having been quicker, and has not done all. */
const brokeOff = (steps: readonly StepTime[], i: number, { endedWell }: Reality): boolean =>
  i + 1 < steps.length ? steps[i + 1].step === 'pause' : endedWell === false

function inOrder(rehearsed: Rehearsed, steps: readonly StepTime[]): Difference[] {
  const i = steps.findIndex(
    (s, at) => rehearsed.steps[at]?.step !== s.step || rehearsed.steps[at]?.attempt !== s.attempt,
  )
  if (i < 0) return []
  const say = (s: Pick<StepTime, 'step' | 'attempt'> | undefined) =>
    s === undefined
      ? 'the end'
      : `“${writeStepWords[s.step]}”${s.attempt > 1 ? ` of attempt ${s.attempt}` : ''}`
  return [
    {
      ...{ atMs: steps[i].startMs, step: steps[i].step, kind: 'another-order', severity: 'note' },
      ...{ expected: say(rehearsed.steps[i]), seen: say(steps[i]) },
    },
  ]
}

function inWords(rehearsed: Rehearsed, steps: readonly StepTime[], said: readonly Said[]): Difference[] {
  const placeOf = (when: Said['when']) =>
    steps.findLast(s => s.step === (when === 'before' ? 'identify' : 'restart')) ?? steps.at(-1)
  return differsInWord(rehearsed.said ?? [], said).flatMap(({ when, ...words }) => {
    const place = placeOf(when)
    // An answer comes at the end of the step in which it was asked for.
    return place === undefined
      ? []
      : [{ ...words, atMs: place.endMs ?? place.startMs, step: place.step, kind: 'said-otherwise' as const }]
  })
}

const times = (count: number) => (count === 0 ? 'no repeat' : count === 1 ? '1 repeat' : `${count} repeats`)

/** Turned down, damaged or unanswered: each thing that was said again more often than in the rehearsal. */
function inRepeats(rehearsed: Rehearsed, reality: Reality, last: StepTime | undefined): Difference[] {
  const { repeats = [], failures = [], waits, retries, nowMs } = reality
  const found = [...moreRepeats(rehearsed, repeats), ...moreFailures(rehearsed, failures)]
  if (last === undefined) return found
  if (found.length === 0 && retries > rehearsed.retries)
    found.push({
      ...{ atMs: nowMs, step: last.step, kind: 'more-retries', severity: 'note' },
      ...{ expected: times(rehearsed.retries), seen: times(retries) },
    })
  const expected = rehearsed.waits ?? 0
  const waited = (count: number) => (count === 0 ? 'never' : count === 1 ? 'once' : `${count} times`)
  if (waits !== undefined && waits !== expected)
    found.push({
      ...{ atMs: nowMs, step: last.step, kind: 'asked-to-wait', severity: 'expected' },
      ...{ expected: waited(expected), seen: waited(waits) },
    })
  return found
}

/** From so many on it is no chance any more. Common practice, no source. */
const MANY_REPEATS = 3

function moreRepeats(rehearsed: Rehearsed, repeats: readonly Trouble[]): Difference[] {
  const isSame = (a: Trouble) => (b: { step: string; attempt: number; what?: string }) =>
    a.step === b.step && a.attempt === b.attempt && a.what === b.what
  const firsts = repeats.filter((trouble, i) => repeats.findIndex(isSame(trouble)) === i)
  return firsts.flatMap(first => {
    const count = repeats.filter(isSame(first)).length
    const expected = rehearsed.repeats?.find(isSame(first))?.times ?? 0
    if (count <= expected) return []
    const at = repeats.filter(isSame(first))[expected]
    return [
      {
        ...{ atMs: at.atMs, step: first.step, kind: 'more-retries' as const },
        severity: count >= MANY_REPEATS ? ('look' as const) : ('note' as const),
        expected: times(expected),
        seen: `${times(count)}. ${at.text.replace(/\.$/, '')}`,
      },
    ]
  })
}

/** A first write that fails is common; a second one that fails is not. Common practice, no source. */
const moreFailures = (rehearsed: Rehearsed, failures: readonly Trouble[]): Difference[] =>
  failures.slice(rehearsed.attempts - 1).map(({ atMs, step, attempt, text }) => ({
    ...{ atMs, step, kind: 'failed-attempt' as const },
    severity: attempt > 1 ? ('look' as const) : ('note' as const),
    expected: 'it goes through',
    seen: `attempt ${attempt} failed. ${text.replace(/\.$/, '')}`,
  }))

function inEnd(
  { ok }: Rehearsed,
  { endedWell, endText, nowMs }: Reality,
  last: StepTime | undefined,
): Difference[] {
  if (last === undefined || endedWell === undefined || endedWell === ok) return []
  return [
    {
      ...{ atMs: nowMs, step: last.step, kind: 'other-end', severity: endedWell ? 'note' : 'look' },
      expected: ok ? 'it goes through' : 'it does not go through',
      seen: endedWell ? 'it went through' : endText?.replace(/\.$/, '') || 'it did not go through',
    },
  ]
}
