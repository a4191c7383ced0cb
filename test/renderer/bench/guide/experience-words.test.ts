import { describe, expect, it } from 'vitest'
import {
  firstWords,
  openWords,
  RUNS,
  usualWords,
  usualWriting,
  WRITES,
} from '../../../../renderer/bench/guide/experience-words.ts'
import type { Experience } from '../../../../shared/experience/experience.ts'
import { wilsonInterval } from '../../../../shared/experience/interval.ts'

const first = (failed: number, of: number, isOfType = false): Experience['first'] => ({
  ...{ failed, of, isOfType },
  ...wilsonInterval(failed, of),
})

describe('what the first attempts on this bench have shown', () => {
  it.each([
    [first(2, 9), null, 'On your bench the first attempt failed in 2 of 9 runs.'],
    [first(1, 1), null, 'On your bench the first attempt failed in the one run so far.'],
    [first(0, 1), null, 'On your bench the first attempt went through in the one run so far.'],
    [first(0, 4), null, 'On your bench the first attempt went through in all of 4 runs.'],
    [
      first(2, 9, true),
      { worked: 1, of: 2 },
      'On your bench, with this type of receiver, the first attempt failed in 2 of 9 runs; the second then went through in 1 of 2.',
    ],
    [null, null, ''],
  ])('%o is told plainly', (tally, second, text) => {
    expect(firstWords({ first: tally, second }, RUNS)).toBe(text)
  })

  it('calls a write a write', () => {
    expect(firstWords({ first: first(3, 8), second: null }, WRITES)).toContain('3 of 8 writes')
  })

  it('says what so few of them leave open', () => {
    expect(openWords({ first: first(2, 9) })).toBe(
      'So few leave much open: of every 100, between 6 and 55 may fail at first.',
    )
    expect(openWords({ first: first(0, 1) })).toMatch(/between 0 and 79 may/)
    expect(openWords({ first: null })).toBe('')
  })
})

describe('what a step takes on this bench', () => {
  it('is usual only after some runs', () => {
    expect(usualWords({ ms: 48_000, runs: 5, isOfType: true }, RUNS)).toBe(
      'On your bench usually 48 seconds (from 5 runs).',
    )
    expect(usualWords({ ms: 48_000, runs: 1, isOfType: true }, RUNS)).toBe(
      'On your bench 48 seconds (from 1 run).',
    )
    expect(usualWords({ ms: 48_000, runs: 4, isOfType: false }, WRITES)).toBe(
      'On your bench usually 48 seconds (from 4 writes, other types among them).',
    )
    expect(usualWords(undefined, RUNS)).toBe('')
  })

  it('is added up for the writing, where both of its steps are known', () => {
    const start = { ms: 8_000, runs: 3, isOfType: true }
    const watch = { ms: 52_000, runs: 2, isOfType: false }
    expect(usualWriting({ times: { start, watch } })).toEqual({ ms: 60_000, runs: 2, isOfType: false })
    expect(usualWriting({ times: { watch } })).toBeUndefined()
  })
})
