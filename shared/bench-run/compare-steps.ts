import type { Rehearsed } from './check.ts'
import type { Difference, WriteStep } from './lane.ts'
import type { StepTime } from './step-log.ts'

/** One step held against the same step of the rehearsal: its time, its rate, its answers, how much it did. */

/** Adapters and systems take their time; less than this is not worth a word. Common practice, no source. */
const SLOWER_BY = 1.5
const MUCH_SLOWER_BY = 4
const FASTER_BY = 0.5
const WORTH_A_WORD_MS = 500
const OTHER_RATE_BY = 1.25
const LATER_BY = 2
const LATER_MS = 5

type Expected = Rehearsed['steps'][number]

/** Their progress counts octets, and each step of it is a block. */
const IN_OCTETS: readonly WriteStep[] = ['write', 'verify', 'backup']

export const seconds = (ms: number): string => `${(ms / 1000).toFixed(1)} s`

/** @param nowMs of a step that lasts @returns undefined where it takes about as long as rehearsed */
export function differsInTime(expected: Expected, real: StepTime, nowMs: number): Difference | undefined {
  const { step, startMs, endMs } = real
  const expectedMs = expected.endMs - expected.startMs
  const seenMs = (endMs ?? nowMs) - startMs
  const [was, is] = [rateWords(expected.seen, expectedMs, step), rateWords(real.seen, seenMs, step)]
  const hasRates = was !== '' && is !== ''
  const at = { atMs: startMs, step, expected: `${seconds(expectedMs)}${hasRates ? was : ''}` }
  const seen = `${seconds(seenMs)}${hasRates ? is : ''}`
  if (seenMs > expectedMs * SLOWER_BY && seenMs - expectedMs > WORTH_A_WORD_MS)
    return {
      ...{ ...at, kind: 'slower', seen: endMs === null ? `${seen} so far` : seen },
      severity: seenMs > expectedMs * MUCH_SLOWER_BY ? 'look' : 'note',
    }
  if (endMs !== null && seenMs < expectedMs * FASTER_BY && expectedMs - seenMs > WORTH_A_WORD_MS)
    return { ...at, kind: 'faster', severity: 'note', seen }
  return undefined
}

const rateOf = (done: number, ms: number) => (ms > 0 ? (done * 1000) / ms : 0)
const sayRate = (rate: number) => `${Math.round(rate)} octets a second`

function rateWords(seen: StepTime['seen'], ms: number, step: WriteStep): string {
  const rate = seen && IN_OCTETS.includes(step) ? rateOf(seen.done, ms) : 0
  return rate > 0 ? `, ${sayRate(rate)}` : ''
}

/**
 * What differs in a step that has ended.
 * @param isTold whether its time has a mark already, which has the rate in it
 */
export function differsInAmount(expected: Expected, real: StepTime, isTold: boolean): Difference[] {
  const [was, is] = [expected.seen, real.seen]
  const { step, startMs, endMs } = real
  if (was === undefined || is === undefined || endMs === null) return []
  const found: Difference[] = []
  const mark = (atMs: number, kind: Difference['kind'], severity: Difference['severity'], words: string[]) =>
    found.push({ ...{ atMs, step, kind, severity }, expected: words[0], seen: words[1] })
  if (IN_OCTETS.includes(step)) {
    const spanMs = [expected.endMs - expected.startMs, endMs - startMs]
    const rates = [rateOf(was.done, spanMs[0]), rateOf(is.done, spanMs[1])]
    const factor = rates[0] > 0 && rates[1] > 0 ? rates[0] / rates[1] : 1
    const isOther = Math.max(factor, 1 / factor) > OTHER_RATE_BY
    if (!isTold && isOther && Math.abs(spanMs[1] - spanMs[0]) > WORTH_A_WORD_MS)
      mark(startMs, 'other-rate', 'note', rates.map(sayRate))
    if (was.done !== is.done)
      mark(endMs, 'other-amount', step === 'write' ? 'look' : 'note', [
        `${was.done} octets`,
        `${is.done} octets`,
      ])
    if (was.pieces !== is.pieces)
      mark(endMs, 'other-blocks', 'note', [`${was.pieces} blocks`, `${is.pieces} blocks`])
  } else if (was.done !== is.done)
    mark(endMs, 'other-amount', 'note', [`${was.done} parts`, `${is.done} parts`])
  const [wasMs, isMs] = [was.answerMs, is.answerMs]
  if (wasMs !== null && isMs !== null && isMs > wasMs * LATER_BY && isMs - wasMs > LATER_MS)
    mark(startMs, 'later-answers', 'note', [`after ${wasMs.toFixed(1)} ms`, `after ${isMs.toFixed(1)} ms`])
  return found
}
