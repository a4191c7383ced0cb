import { describe, expect, it } from 'vitest'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import { cutPoints, sweepPairs } from '../../shared/rehearse/sweep.ts'
import type { CutPoint } from '../../shared/sim/world.ts'
import { convertingRequest, smallRequest } from '../support/small-bench.ts'

describe('pairs of cuts', () => {
  it.each([
    ['by cable', smallRequest({ seed: 3 })],
    ['by air', smallRequest({ seed: 4, route: 'wireless' })],
    ['in a conversion', convertingRequest({ seed: 5 })],
  ])(
    '%s: cut, and cut again while it is brought back, all come back',
    (_, request) => {
      const swept = sweepPairs(request, 100)
      if (!swept.ok) throw new Error(swept.problems[0].message)
      expect(swept.value.failures).toEqual([])
      expect(Object.values(swept.value.outcomes).reduce((a, b) => a + b)).toBe(100)
      expect(swept.value.outcomes['needs-cable']).toBeGreaterThan(30)
    },
    60_000,
  )

  it('are drawn alike for the same seed, and say what is wrong with a request', () => {
    expect(sweepPairs(smallRequest({ seed: 9 }), 10)).toEqual(sweepPairs(smallRequest({ seed: 9 }), 10))
    expect(sweepPairs(smallRequest({ receiverId: 'nobody' }), 1).ok).toBe(false)
    expect(cutPoints(0, 0)).toEqual([])
  })

  it('really cut twice: the recovery that is told is another one than after the first cut alone', () => {
    const cut = { at: 'flash-op', index: 5, when: 'during' } as const
    const told = (cutAgain?: CutPoint) => {
      const done = rehearse(smallRequest(), cutAgain ? { cut, cutAgain } : { cut })
      return done.ok && done.value.report.recovery?.rehearsed
    }
    expect(told({ at: 'flash-op', index: 60, when: 'during' })).toMatchObject({ outcome: 'updated' })
    expect(told({ at: 'flash-op', index: 60, when: 'during' })).not.toEqual(told())
    // A cut that is never reached changes nothing.
    expect(told({ at: 'flash-op', index: 60_000, when: 'during' })).toEqual(told())
  })
})
