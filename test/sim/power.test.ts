import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { Kernel, msToNs } from '../../shared/sim/kernel.ts'
import { PowerRail } from '../../shared/sim/power.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import type { Feed } from '../../shared/wiring/feed.ts'

const type = demoBench().catalogue.receiverTypes[0]
const feed = (change: Partial<Feed> = {}): Feed => ({
  from: 'a supply',
  openVolts: 5,
  seriesOhms: 0.5,
  limitMilliamps: 500,
  throughCable: true,
  backFeedMilliamps: 0,
  backFeedLimitMilliamps: 0,
  ...change,
})

function rail(options: { feed?: Partial<Feed>; extraOhms?: number; alwaysMilliamps?: number } = {}) {
  const kernel = new Kernel()
  const happened: string[] = []
  const made = new PowerRail(kernel, new TraceRecorder(), {
    feed: feed(options.feed),
    extraOhms: options.extraOhms ?? 0,
    type,
    alwaysMilliamps: options.alwaysMilliamps ?? 0,
  })
  made.connect({
    powerUp: () => happened.push('up'),
    powerFailed: why => happened.push(`failed: ${why}`),
    destroyed: why => happened.push(`destroyed: ${why}`),
  })
  return { kernel, rail: made, happened }
}

describe('the supply of the receiver', () => {
  it("stands where Ohm's law puts it", () => {
    const { rail: r, happened } = rail({ extraOhms: 2, alwaysMilliamps: 40 })
    r.energise(0)
    expect(happened).toEqual(['up'])
    r.draw(160)
    expect(r.volts).toBeCloseTo(5 - 0.2 * 2.5, 9)
    expect(r.milliamps).toBe(200)
  })

  it('resets the receiver below its brown-out level, and lets it start again when the load is gone', () => {
    const { kernel, rail: r, happened } = rail({ extraOhms: 20 })
    r.energise(0)
    // 3.4 V are reached at (5 - 3.4) / 20.5 = 78 mA.
    r.draw(77)
    expect(happened).toEqual(['up'])
    r.draw(79)
    expect(happened[1]).toMatch(/failed: the supply fell to 3\.38 V under 79 mA/)
    kernel.runTo(msToNs(100))
    expect(happened[2]).toBe('up')
  })

  it('does not start what could not even carry its boot loader', () => {
    const { kernel, rail: r, happened } = rail({ extraOhms: 60 })
    r.energise(0)
    kernel.runTo(msToNs(1000))
    expect(happened).toEqual([])
  })

  it('folds back beyond its limit', () => {
    const { rail: r } = rail({ feed: { limitMilliamps: 100 } })
    r.energise(0)
    r.draw(120)
    expect(r.volts).toBeCloseTo((5 * 100) / 120, 9)
  })

  it('is gone once it is cut, and stays so', () => {
    const { kernel, rail: r, happened } = rail()
    r.energise(0)
    r.cut('somebody pulled the plug')
    kernel.runTo(msToNs(1000))
    expect(happened).toEqual(['up', 'failed: somebody pulled the plug'])
    expect(r.volts).toBe(0)
  })

  const fatal: [string, Partial<Feed>, number, RegExp][] = [
    ['a reversed supply', { openVolts: -5 }, 0, /reversed/],
    ['the supply on the signal pin', {}, 5, /signal pin/],
    ['far too high a voltage', { openVolts: 12.6 }, 0, /12\.6 V on an input for 10\.0 V/],
    [
      'two supplies',
      { backFeedMilliamps: 3400, backFeedLimitMilliamps: 500 },
      0,
      /3\.4 A through each other/,
    ],
  ]
  for (const [what, change, signalPinVolts, why] of fatal)
    it(`destroys the receiver by ${what} (common practice, no source)`, () => {
      const { rail: r, happened } = rail({ feed: change })
      r.energise(signalPinVolts)
      expect(happened).toHaveLength(1)
      expect(happened[0]).toMatch(/^destroyed/)
      expect(happened[0]).toMatch(why)
    })

  it('does not destroy by 3.3 V on the signal pin, by a little too much, or by a little current', () => {
    for (const [change, pin] of [
      [{}, 3.3],
      [{ openVolts: 12.4 }, 0],
      [{ backFeedMilliamps: 900, backFeedLimitMilliamps: 500 }, 0],
    ] as const) {
      const { rail: r, happened } = rail({ feed: change })
      r.energise(pin)
      expect(happened).toEqual(['up'])
    }
  })
})
