import { describe, expect, it } from 'vitest'
import { sayRow, stripOf, traceTimeOf } from '../../../../renderer/bench/program/strip.ts'
import { lane, rehearsed } from '../../../support/write-lane.ts'

describe('reality beside its rehearsal', () => {
  it('has both on one scale, that of the longer', () => {
    const longer = stripOf(rehearsed, lane({ elapsedMs: 2 * rehearsed.simulatedMs, steps: [] }))
    expect(longer.wholeMs).toBe(2 * rehearsed.simulatedMs)
    expect(longer.rehearsed.at(-1)?.left).toBeLessThan(0.5)
    expect(stripOf(rehearsed, lane({ elapsedMs: 10 })).wholeMs).toBe(rehearsed.simulatedMs)
  })

  it('lets the step that runs reach to now, and no part out of the picture', () => {
    const strip = stripOf(
      rehearsed,
      lane({
        elapsedMs: 20_000,
        steps: [
          { step: 'erase', attempt: 1, startMs: 0, endMs: 5000 },
          { step: 'write', attempt: 1, startMs: 5000, endMs: null },
        ],
      }),
    )
    expect(strip.real[1]).toMatchObject({ isRunning: true, ms: 15_000 })
    for (const part of [...strip.real, ...strip.rehearsed]) {
      expect(part.left).toBeGreaterThanOrEqual(0)
      expect(part.left + part.width).toBeLessThanOrEqual(1 + 1e-9)
    }
  })

  it('marks where they differ', () => {
    const strip = stripOf(
      rehearsed,
      lane({
        elapsedMs: rehearsed.simulatedMs,
        differs: [
          {
            atMs: rehearsed.simulatedMs / 4,
            step: 'erase',
            kind: 'slower',
            severity: 'note',
            expected: '2 s',
            seen: '4 s',
          },
        ],
      }),
    )
    expect(strip.marks.map(mark => mark.left)).toEqual([0.25])
  })

  it('says a row in words, with attempts and what runs now', () => {
    const { real } = stripOf(
      null,
      lane({
        elapsedMs: 4000,
        steps: [
          { step: 'erase', attempt: 1, startMs: 0, endMs: 1000 },
          { step: 'erase', attempt: 2, startMs: 1000, endMs: null },
        ],
      }),
    )
    expect(sayRow('Real', real)).toBe('Real: Erase 1.0 s; Erase, attempt 2 3.0 s, now.')
    expect(sayRow('Real', [])).toBe('Real: nothing yet.')
  })
})

describe('a moment of a write in the picture of its line', () => {
  const step = (name: 'open' | 'enter', startMs: number) => ({ step: name, attempt: 1, startMs, endMs: null })

  it('is reckoned from the first step of the procedure, and lies within the picture', () => {
    const trace = { endNs: 5e9, phases: [{ startNs: 10e6 }] }
    const atOf = traceTimeOf(trace, [step('open', 0), step('enter', 60)])
    expect(atOf(60)).toBe(10e6)
    expect(atOf(1060)).toBe(1010e6)
    expect([atOf(0), atOf(99_000)]).toEqual([0, 5e9])
    expect(traceTimeOf({ endNs: 5e9, phases: [] }, [])(7)).toBe(7e6)
  })
})
