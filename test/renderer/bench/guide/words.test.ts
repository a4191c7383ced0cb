import { describe, expect, it } from 'vitest'
import {
  countdownOf,
  isBackByCable,
  isEarly,
  isWaiting,
  phaseAt,
  sayTime,
  wholeMs,
  writingMs,
} from '../../../../renderer/bench/guide/words.ts'
import { runbookOf, stepOf } from '../../../runbook/fixture.ts'
import { smallRequest } from '../../../support/small-bench.ts'

const runbook = runbookOf(smallRequest())
const step = (id: string) => stepOf(runbook, id)

describe('a duration', () => {
  it.each([
    [0, '0 seconds'],
    [-5, '0 seconds'],
    [1000, '1 second'],
    [57_400, '57 seconds'],
    [89_000, '89 seconds'],
    [90_000, '2 minutes'],
    [38 * 60_000, '38 minutes'],
    [3 * 3_600_000, '3 hours'],
  ])('of %d ms is %s', (ms, text) => {
    expect(sayTime(ms)).toBe(text)
  })
})

describe('"Saw it" that comes too soon', () => {
  const watch = { ...step('watch'), rehearsedMs: 60_000, handsMs: 0 }

  it('is one in the first half of a wait, and never one where hands are at work', () => {
    expect(isEarly(watch, 1000)).toBe(true)
    expect(isEarly(watch, 29_999)).toBe(true)
    expect(isEarly(watch, 30_000)).toBe(false)
    expect(isEarly(step('second-pause'), 1000)).toBe(true)
    expect(isEarly(step('drive'), 0)).toBe(false)
  })

  it('is none where it is usually as quick on this bench, and a single run shows nothing yet', () => {
    const usual = { ms: 20_000, isOfType: true }
    expect(isEarly(watch, 11_000, { ...usual, runs: 3 })).toBe(false)
    expect(isEarly(watch, 9_000, { ...usual, runs: 3 })).toBe(true)
    expect(isEarly(watch, 11_000, { ...usual, runs: 1 })).toBe(true)
  })
})

describe('the countdown of a step', () => {
  it('counts where the radio works, and leaves hands alone', () => {
    expect(runbook.steps.filter(isWaiting).map(s => s.id)).toEqual(['watch', 'second-pause', 'second-watch'])
    expect(countdownOf(step('drive'), 1000).text).toBe('Usually takes 2 minutes.')
    expect(countdownOf(step('drive'), 3_600_000)).toMatchObject({
      text: 'Take the time that it needs.',
      isOver: false,
    })
  })

  it('says what is left of the rehearsed time, then how long it is over, and what to do', () => {
    const watch = { ...step('watch'), rehearsedMs: 60_000, handsMs: 0 }
    expect(countdownOf(watch, 15_000)).toEqual({
      share: 0.25,
      text: 'About 45 seconds left of 60 seconds, as rehearsed.',
      isOver: false,
    })
    expect(countdownOf(watch, 70_000)).toMatchObject({ share: 1, isOver: true })
    expect(countdownOf(watch, 70_000).text).toMatch(
      /^10 seconds longer than rehearsed\. That alone is no fault/,
    )
    expect(countdownOf(watch, 121_000).text).toMatch(/stood still for a minute/)
    // A clock that was set back.
    expect(countdownOf(watch, -5000).share).toBe(0)
  })

  it('does not call late what is usual on this bench', () => {
    const watch = { ...step('watch'), rehearsedMs: 60_000, handsMs: 0 }
    const usual = { ms: 80_000, runs: 3, isOfType: true }
    expect(countdownOf(watch, 70_000, usual)).toEqual({
      share: 1,
      text: '10 seconds longer than rehearsed, as is usual on your bench.',
      isOver: false,
    })
    expect(countdownOf(watch, 81_000, usual)).toMatchObject({ isOver: true })
    expect(countdownOf(watch, 81_000, usual).text).toMatch(/wait as long as its progress moves/)
    expect(countdownOf(watch, 130_000, usual).text).not.toMatch(/stood still/)
    expect(countdownOf(watch, 161_000, usual).text).toMatch(/stood still for a minute/)
    // Once or twice is not usual yet.
    expect(countdownOf(watch, 70_000, { ...usual, runs: 2 }).isOver).toBe(true)
    expect(countdownOf(watch, 15_000, usual)).toEqual(countdownOf(watch, 15_000))
  })

  it('counts the pause before a second attempt down to its end', () => {
    const pause = { ...step('second-pause'), rehearsedMs: 0 }
    expect(countdownOf(pause, 10_000).text).toBe('Wait another 20 seconds.')
    expect(countdownOf(pause, 31_000)).toMatchObject({ text: 'That is long enough.', isOver: true })
  })

  it('knows the phase that the rehearsal was in', () => {
    const phases = [
      { id: 'erase', words: 'Erase', ms: 10 },
      { id: 'write', words: 'Write', ms: 20 },
    ] as const
    expect([0, 9, 10, 29, 30, 500].map(ms => phaseAt({ phases: [...phases], handsMs: 0 }, ms))).toEqual([
      0, 0, 1, 1, 1, 1,
    ])
  })
})

describe('the whole run', () => {
  it('takes what its steps take, without a second attempt', () => {
    const { simulatedMs } = runbook.rehearsed
    const hands = runbook.steps.filter(s => s.part !== 'second').reduce((sum, s) => sum + s.handsMs, 0)
    expect(wholeMs(runbook)).toBeCloseTo(hands + simulatedMs, 3)
    expect(writingMs(runbook)).toBeCloseTo(simulatedMs - step('card-files').rehearsedMs, 3)
  })
})

describe('a way back by cable from an update by air', () => {
  it('is told of by air alone, and not where nobody has written down how it goes', () => {
    const byAir = runbookOf(smallRequest({ route: 'wireless' }))
    expect(byAir.recovery.written?.rehearsed.outcome).toBe('updated')
    expect(isBackByCable(byAir)).toBe(true)
    expect(isBackByCable(runbook)).toBe(false)
    expect(isBackByCable({ ...byAir, recovery: { written: null, bootLoader: null } })).toBe(false)
  })
})
