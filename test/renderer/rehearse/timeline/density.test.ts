import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { columnsOf, densityOf, levelFor } from '../../../../renderer/rehearse/timeline/density.ts'
import { BURST, LaneRecorder } from '../../../../shared/sim/trace.ts'
import { LaneIndex } from '../../../../shared/wire/lane-index.ts'
import { summarise } from '../../../../shared/wire/waveform.ts'

const burstArb = fc.record({
  startNs: fc.integer({ min: 0, max: 900_000 }),
  count: fc.integer({ min: 1, max: 9 }),
  talker: fc.integer({ min: 0, max: 2 }),
})

function indexOf(bursts: readonly { startNs: number; count: number; talker: number }[]) {
  const recorder = new LaneRecorder('bus', 'bus', 1_000_000, 10, 'none')
  recorder.talkers.push('a', 'b', 'c')
  for (const { startNs, count, talker } of bursts)
    recorder.burst(startNs, talker, recorder.reserve(count), count)
  return new LaneIndex(recorder.done())
}

describe('the density pyramid', () => {
  it('has the whole time of each talker on every level', () => {
    fc.assert(
      fc.property(fc.array(burstArb, { maxLength: 30 }), bursts => {
        const density = densityOf(indexOf(bursts), 1_000_000, 64)
        expect(density.levels.at(-1)!.buckets).toBe(1)
        for (const level of density.levels)
          for (let t = 0; t < 3; t++) {
            let sum = 0
            for (let b = 0; b < level.buckets; b++) sum += level.busyNs[b * 3 + t]
            const sent = bursts.filter(b => b.talker === t).reduce((total, b) => total + b.count * 10_000, 0)
            expect(sum).toBeCloseTo(sent, 3)
          }
      }),
    )
  })

  it('agrees with counting the bursts one by one', () => {
    fc.assert(
      fc.property(
        fc.array(burstArb, { minLength: 1, maxLength: 20 }),
        fc.constantFrom(1, 2, 4, 8, 16),
        (bursts, columns) => {
          const index = indexOf(
            bursts.filter((b, i) =>
              bursts
                .slice(0, i)
                .every(o => b.startNs >= o.startNs + 90_000 || o.startNs >= b.startNs + 90_000),
            ),
          )
          const density = densityOf(index, 1_000_000, 64)
          const { busy } = columnsOf(density, 0, 1_000_000, columns)
          const exact = summarise(index, 0, 1_000_000, columns)
          for (let c = 0; c < columns; c++)
            expect(busy[c * 3] + busy[c * 3 + 1] + busy[c * 3 + 2]).toBeCloseTo(exact.busy[c], 4)
        },
      ),
    )
  })

  it('never loses a spoilt burst, however far out the view is', () => {
    const index = indexOf([
      { startNs: 0, count: 3, talker: 0 },
      { startNs: 500_000, count: 1, talker: 1 },
      { startNs: 700_000, count: 1, talker: 1 },
    ])
    index.lane.flags[1] = BURST.noisy
    const density = densityOf(index, 1_000_000, 1024)
    for (const columns of [1, 3, 10, 500]) {
      const { flags } = columnsOf(density, -10_000, 1_020_000, columns)
      expect(flags.some(f => (f & BURST.noisy) !== 0)).toBe(true)
      if (columns > 5) expect(flags.filter(f => f !== 0).length).toBeLessThan(columns / 3 + 1)
    }
  })

  it('draws a column from a few buckets only, at any scale', () => {
    const density = densityOf(indexOf([]), 1e9, 16_384)
    for (const columnNs of [1e9, 1e8, 1e7, 1e6, 123_456])
      expect(columnNs / levelFor(density, columnNs).bucketNs).toBeLessThan(2.0001)
    expect(levelFor(density, 1).bucketNs).toBe(1e9 / 16_384)
  })
})
