import { describe, expect, it } from 'vitest'
import type { Rehearsed } from '../../shared/bench-run/check.ts'
import { differences } from '../../shared/bench-run/compare.ts'
import type { StepTime } from '../../shared/bench-run/step-log.ts'

const rehearsed: Rehearsed = {
  ...{ key: 'k', ok: true, sentence: '', simulatedMs: 6000, attempts: 1, retries: 0 },
  steps: [
    { step: 'enter', attempt: 1, startMs: 0, endMs: 1000 },
    { step: 'write', attempt: 1, startMs: 1000, endMs: 5000 },
    { step: 'verify', attempt: 1, startMs: 5000, endMs: 6000 },
  ],
}
const step = (name: StepTime['step'], startMs: number, endMs: number | null, attempt = 1): StepTime => ({
  ...{ step: name, attempt, startMs, endMs },
})
const asRehearsed = [
  step('open', 0, 50),
  step('enter', 50, 1000),
  step('write', 1000, 5100),
  step('verify', 5100, 6200),
]
const kinds = (steps: StepTime[], more: Partial<Parameters<typeof differences>[1]> = {}) =>
  differences(rehearsed, { steps, retries: 0, nowMs: 7000, ...more }).map(d => d.kind)

describe('reality against the rehearsal', () => {
  it('has nothing to say where it goes as rehearsed', () => {
    expect(kinds(asRehearsed, { endedWell: true })).toEqual([])
  })

  it('says that a step was slower, is slower already, or was over much too soon', () => {
    expect(kinds([asRehearsed[0], step('enter', 50, 3000)])).toEqual(['slower'])
    expect(kinds([asRehearsed[0], asRehearsed[1], step('write', 1000, null)], { nowMs: 9000 })).toEqual([
      'slower',
    ])
    expect(kinds([asRehearsed[0], asRehearsed[1], step('write', 1000, null)], { nowMs: 3000 })).toEqual([])
    expect(kinds([...asRehearsed.slice(0, 2), step('write', 1000, 1800)])).toEqual(['faster'])
  })

  it('does not call a step quick that broke off', () => {
    const broke = [...asRehearsed.slice(0, 2), step('write', 1000, 1300)]
    expect(kinds([...broke, step('pause', 1300, 3000)])).toEqual(['another-order'])
    expect(kinds(broke, { endedWell: false, endText: 'It broke off.' })).toEqual(['other-end'])
    expect(kinds([...broke, step('verify', 1300, 2300)])).toEqual(['faster'])
  })

  it('says that it was asked again more often, went another way, and ended otherwise', () => {
    expect(kinds(asRehearsed, { retries: 2 })).toEqual(['more-retries'])
    const again = [...asRehearsed.slice(0, 3), step('pause', 5100, 6000), step('enter', 6000, null, 2)]
    const [first] = differences(rehearsed, { steps: again, retries: 0, nowMs: 6100 })
    expect(first).toMatchObject({ kind: 'another-order', expected: 'verify', seen: 'pause' })
    expect(kinds(asRehearsed, { endedWell: false, endText: 'It broke off.' })).toEqual(['other-end'])
  })
})
