import type { Rehearsed } from './check.ts'
import type { Difference } from './lane.ts'
import type { StepTime } from './step-log.ts'

/** Where reality differs from the rehearsal of the plan. */

/** Adapters and systems take their time; less than this is not worth a word. Common practice, no source. */
const SLOWER_BY = 1.5
const FASTER_BY = 0.5
const WORTH_A_WORD_MS = 500

export interface Reality {
  readonly steps: readonly StepTime[]
  readonly retries: number
  readonly nowMs: number
  /** Set once it has ended: whether it ended as well as in the rehearsal. */
  readonly endedWell?: boolean | undefined
  readonly endText?: string | undefined
}

/** @returns what differs so far; of a step that lasts, only that it lasts too long already */
export function differences(rehearsed: Rehearsed, reality: Reality): Difference[] {
  const found: Difference[] = []
  const steps = reality.steps.filter(s => s.step !== 'open')
  const order = firstOther(rehearsed, steps)
  if (order) found.push(order)
  steps.forEach((step, i) => {
    const expected = rehearsed.steps[i]
    if (expected?.step === step.step && expected.attempt === step.attempt) {
      const other = inTime(expected, step, reality.nowMs)
      if (other && !(other.kind === 'faster' && brokeOff(steps, i, reality))) found.push(other)
    }
  })
  const last = steps.at(-1)
  if (last === undefined) return found
  if (reality.retries > rehearsed.retries)
    found.push({
      ...{ atMs: reality.nowMs, step: last.step, kind: 'more-retries' },
      expected: times(rehearsed.retries),
      seen: times(reality.retries),
    })
  if (reality.endedWell !== undefined && reality.endedWell !== rehearsed.ok)
    found.push({
      ...{ atMs: reality.nowMs, step: last.step, kind: 'other-end' },
      expected: rehearsed.ok ? 'it goes through' : 'it does not go through',
      seen: reality.endedWell ? 'it went through' : reality.endText || 'it did not go through',
    })
  return found
}

/** What broke off was not over sooner for having been quicker. */
const brokeOff = (steps: readonly StepTime[], i: number, { endedWell }: Reality): boolean =>
  i + 1 < steps.length ? steps[i + 1].step === 'pause' : endedWell === false

const times = (count: number) =>
  count === 0 ? 'nothing said twice' : count === 1 ? 'one thing said twice' : `${count} things said twice`

function firstOther(rehearsed: Rehearsed, steps: readonly StepTime[]): Difference | undefined {
  const i = steps.findIndex(
    (s, at) => rehearsed.steps[at]?.step !== s.step || rehearsed.steps[at]?.attempt !== s.attempt,
  )
  if (i < 0) return undefined
  const say = (s: { step: string; attempt: number } | undefined) =>
    s === undefined ? 'the end' : s.attempt > 1 ? `${s.step}, attempt ${s.attempt}` : s.step
  return {
    ...{ atMs: steps[i].startMs, step: steps[i].step, kind: 'another-order' },
    expected: say(rehearsed.steps[i]),
    seen: say(steps[i]),
  }
}

function inTime(
  expected: { readonly startMs: number; readonly endMs: number },
  { step, startMs, endMs }: StepTime,
  nowMs: number,
): Difference | undefined {
  const expectedMs = expected.endMs - expected.startMs
  const seenMs = (endMs ?? nowMs) - startMs
  const at = { atMs: startMs, step, expected: seconds(expectedMs) }
  if (seenMs > expectedMs * SLOWER_BY && seenMs - expectedMs > WORTH_A_WORD_MS)
    return { ...at, kind: 'slower', seen: endMs === null ? `${seconds(seenMs)} so far` : seconds(seenMs) }
  if (endMs !== null && seenMs < expectedMs * FASTER_BY && expectedMs - seenMs > WORTH_A_WORD_MS)
    return { ...at, kind: 'faster', seen: seconds(seenMs) }
  return undefined
}

const seconds = (ms: number) => `${(ms / 1000).toFixed(1)} s`
