import fc from 'fast-check'
import { expect, it } from 'vitest'
import { LaneRecorder } from '../../shared/sim/trace.ts'
import { LaneIndex, lowerBound, upperBound } from '../../shared/wire/lane-index.ts'

const burstArb = fc.record({
  startNs: fc.integer({ min: 0, max: 100_000 }),
  count: fc.integer({ min: 0, max: 30 }),
})

function indexOf(bursts: readonly { startNs: number; count: number }[]) {
  const recorder = new LaneRecorder('bus', 'bus', 1_000_000, 10, 'none')
  for (const { startNs, count } of bursts) recorder.burst(startNs, 0, recorder.reserve(count), count)
  return new LaneIndex(recorder.done())
}

it('finds every burst that touches a window, in whatever order they were recorded', () => {
  fc.assert(
    fc.property(
      fc.array(burstArb, { maxLength: 40 }),
      fc.integer({ min: 0, max: 120_000 }),
      fc.integer({ min: 1, max: 60_000 }),
      (bursts, fromNs, spanNs) => {
        const index = indexOf(bursts)
        const { first, last } = index.window(fromNs, fromNs + spanNs)
        const found = new Set<number>()
        for (let rank = first; rank < last; rank++) found.add(index.burst(rank))
        bursts.forEach(({ startNs, count }, i) => {
          const touches = startNs < fromNs + spanNs && startNs + count * 10_000 > fromNs
          if (touches) expect(found.has(i)).toBe(true)
        })
        for (let rank = 1; rank < index.count; rank++)
          expect(index.startNs[rank]).toBeGreaterThanOrEqual(index.startNs[rank - 1])
      },
    ),
  )
})

it('knows who speaks at a moment', () => {
  const index = indexOf([
    { startNs: 1000, count: 2 },
    { startNs: 50_000, count: 1 },
  ])
  expect(index.at(999)).toBeUndefined()
  expect(index.at(1000)).toBe(0)
  expect(index.at(20_999)).toBe(0)
  expect(index.at(21_000)).toBeUndefined()
  expect(index.at(55_000)).toBe(1)
})

it('searches like a scan', () => {
  fc.assert(
    fc.property(
      fc.array(fc.integer({ min: 0, max: 20 })),
      fc.integer({ min: -1, max: 21 }),
      (values, wanted) => {
        const sorted = values.sort((a, b) => a - b)
        expect(lowerBound(sorted, wanted)).toBe(sorted.filter(v => v < wanted).length)
        expect(upperBound(sorted, wanted)).toBe(sorted.filter(v => v <= wanted).length)
      },
    ),
  )
})
