import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import type { Feed } from '../../shared/wiring/feed.ts'
import { feedOf, voltsAt } from '../../shared/wiring/feed.ts'
import { alwaysMilliamps, receiverLoad } from '../../shared/wiring/load.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'

const [type] = demoBench().catalogue.receiverTypes
const feed = (change: Partial<Feed> = {}): Feed => ({
  from: 'a supply',
  openVolts: 5,
  seriesOhms: 0.5,
  limitMilliamps: 500,
  throughCable: false,
  backFeedMilliamps: 0,
  backFeedLimitMilliamps: 0,
  ...change,
})

describe('what the supply has to carry', () => {
  it('is what the type draws, by air with its radio, and the servos on its own supply', () => {
    // The Wren: 45 mA in its boot loader, 35 for flash, 40 for its radio, 70 when it runs; 8 for each idle servo.
    expect(receiverLoad({ type, byAir: false, feed: feed(), servos: 0 })).toEqual({
      startMilliamps: 45,
      mostMilliamps: 80,
    })
    expect(receiverLoad({ type, byAir: true, feed: feed(), servos: 4 })).toEqual({
      startMilliamps: 77,
      mostMilliamps: 152,
    })
    expect(alwaysMilliamps(feed({ throughCable: true }), 4)).toBe(0)
  })

  it('is the most that a whole session really draws, by both routes', () => {
    for (const route of ['cable', 'wireless'] as const) {
      const done = rehearse(smallRequest({ route }))
      if (!done.ok) throw new Error(done.problems[0].message)
      const { supply } = done.value.trace
      const bench = smallBench()
      const table = {
        route,
        radioType: bench.catalogue.radioTypes[0],
        supply: bench.supplies.find(s => s.id === 'regulator-6'),
        cable: bench.cables[0],
        wiring: bench.wiring,
      }
      const { mostMilliamps } = receiverLoad({
        type,
        byAir: route === 'wireless',
        feed: feedOf(table),
        servos: 4,
      })
      expect(Math.max(...supply.milliamps)).toBe(mostMilliamps)
    }
  })
})

describe('the voltage at the receiver', () => {
  it("follows Ohm's law up to the limit of the source, and folds back beyond", () => {
    expect(voltsAt(feed(), 500)).toBeCloseTo(5 - 0.25, 10)
    expect(voltsAt(feed(), 500, 1)).toBeCloseTo(5 - 0.75, 10)
    expect(voltsAt(feed(), 1000)).toBeCloseTo(2.5, 10)
  })
})
