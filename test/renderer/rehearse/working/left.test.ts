import { describe, expect, it } from 'vitest'
import { leftMs, type Stretch, stretchOf } from '../../../../renderer/rehearse/working/left.ts'
import type { RehearsalMoment } from '../../../../shared/api/rehearse.ts'

type Standing = NonNullable<RehearsalMoment['standing']>
const at = (done: number, more: Partial<Standing> = {}): RehearsalMoment => ({
  part: 'update',
  simulatedMs: 0,
  standing: { phase: 'write', attempt: 1, done, total: 1000, ...more },
})

/** What is said at each moment, told one after another. */
function told(moments: readonly (readonly [nowMs: number, moment: RehearsalMoment])[]) {
  let stretch: Stretch | undefined
  return moments.map(([nowMs, moment]) => {
    stretch = stretchOf(stretch, moment, nowMs)
    return leftMs(stretch, moment, nowMs)
  })
}

describe('the time left of a step', () => {
  it('follows from how fast the step has gone since it was first seen, and from nothing before', () => {
    const seen = told([
      [5000, at(200)],
      [5400, at(280)],
      [6000, at(400)],
      [8000, at(900)],
      [8300, at(1000)],
    ])
    // 200 in 1000 ms, so 600 more take 3000 ms; then 700 in 3000 ms.
    expect(seen.slice(0, 3)).toEqual([undefined, undefined, 3000])
    expect(seen[3]).toBeCloseTo(3000 / 7, 6)
    expect(seen[4]).toBe(0)
  })

  it('is not known while the step hardly moves, or does not count', () => {
    expect(
      told([
        [0, at(0)],
        [900, at(19)],
        [1000, at(20)],
      ]),
    ).toEqual([undefined, undefined, 49_000])
    expect(
      told([
        [0, at(0, { total: 0 })],
        [5000, at(0, { total: 0 })],
      ]),
    ).toEqual([undefined, undefined])
    expect(told([[0, { part: 'update', simulatedMs: 3 }]])).toEqual([undefined])
  })

  it.each([
    ['another phase', at(100, { phase: 'verify' })],
    ['another attempt', at(100, { attempt: 2 })],
    ['the recovery', { ...at(900), part: 'recovery' as const }],
    ['a step that starts over', at(100)],
  ])('is measured anew in %s', (_, next) => {
    expect(
      told([
        [0, at(0)],
        [2000, at(500)],
        [2100, next],
      ]),
    ).toEqual([undefined, 2000, undefined])
  })
})
