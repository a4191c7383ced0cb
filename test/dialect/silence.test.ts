import { describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import type { RepeatStep, Step, Time } from '../../shared/dialect/schema-steps.ts'
import { silentEndMs, type Timing, unanswered, unaskedMs } from '../../shared/dialect/silence.ts'

const dialect = builtInDialects().get('xmodem-crc') as Dialect
const timeMs = (time: Time) => (typeof time === 'number' ? time : dialect.timings[time].ms)
const timing: Timing = { dialect, timeMs, characterMs: 0, isFirst: true }
const expecting = (within: number, unaskedEvery?: number): Extract<Step, { do: 'expect' }> => ({
  ...{ do: 'expect', replies: ['ack'], parts: [], within, as: {}, skipOthers: true, bare: false },
  unaskedEvery,
})
const wait = (ms: number): Step => ({ do: 'wait', for: ms })

describe('how long it takes until silence is given up', () => {
  it('ends at the first answer that is waited for', () => {
    expect(unanswered([wait(5), expecting(100), wait(1000)], timing)).toEqual({ ms: 105, ends: true })
    expect(unanswered([wait(5), { do: 'quiet', for: 7 }], timing)).toEqual({ ms: 12, ends: false })
  })

  it('counts what is done again as often as it may stay unanswered', () => {
    const { silent } = dialect.retries
    const request: Step = { do: 'request', what: 'r', steps: [expecting(100)] }
    expect(unanswered([request], timing).ms).toBe(100 * (silent ?? Number.NaN))
    const repeat: RepeatStep = { do: 'repeat', what: 'p', times: 10, silent: 3, steps: [expecting(100)] }
    expect(unanswered([repeat], timing).ms).toBe(300)
    expect(unanswered([{ ...repeat, silent: undefined }], timing).ms).toBe(1000)
  })

  it('takes the longer of two ways', () => {
    const ways: Step = { do: 'when', of: 'block', steps: [expecting(100)], otherwise: [wait(3)] }
    expect(unanswered([ways], timing)).toEqual({ ms: 100, ends: false })
  })

  it('gives a receiver that has spoken before only some of its turns', () => {
    expect(unaskedMs(expecting(60_000, 3000), true, timeMs)).toBe(60_000)
    expect(unaskedMs(expecting(60_000, 3000), false, timeMs)).toBe(18_000)
    expect(unaskedMs(expecting(60_000, 50), false, timeMs)).toBe(15_000)
    expect(unaskedMs(expecting(4000, 3000), false, timeMs)).toBe(4000)
    expect(unaskedMs(expecting(60_000), false, timeMs)).toBe(60_000)
  })

  it('adds the attempts that are left, with their pauses and good-byes', () => {
    const leaveMs = timeMs('inHand')
    expect(silentEndMs(0, 2500, timing)).toBe(leaveMs)
    expect(silentEndMs(1, 2500, timing)).toBe(2500 + 18_000 + 2 * leaveMs)
  })
})
