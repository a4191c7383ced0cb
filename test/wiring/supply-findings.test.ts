import { describe, expect, it } from 'vitest'
import { judgeSupply } from '../../shared/wiring/budget.ts'
import { feedBoth, feedThrough, ownFeed } from '../../shared/wiring/feed.ts'
import { sensorMilliamps } from '../../shared/wiring/load.ts'
import { netsOf } from '../../shared/wiring/nets.ts'
import { adapterFeed, budget, loadOf, supplyFindings } from '../../shared/wiring/supply-findings.ts'
import { awgOhmsPerMetre } from '../../shared/wiring/wire.ts'
import { check, codes, DIRECT, setupWith, wiringBench } from '../support/wiring-bench.ts'

/** Worked by hand from Ohm's law; the wire from the table of ASTM B258 gauges: AWG 26 has 133.9 ohms a kilometre. */

const needs = { leastVolts: 4, mostVolts: 10, brownOutVolts: 3.4, restartVolts: 3.7 }
const source = (volts: number, sourceOhms: number, limitMilliamps: number) =>
  feedThrough('a source', { volts, sourceOhms, limitMilliamps }, 0)

describe('one supply against what the receiver needs', () => {
  it('falls by current times resistance: 5 V, 2 Ω, 500 mA leave 4 V', () => {
    const verdict = judgeSupply(source(5, 2, 500), needs, { startMilliamps: 100, mostMilliamps: 500 })
    expect(verdict.lowestVolts).toBeCloseTo(4, 9)
    expect(verdict.startVolts).toBeCloseTo(4.8, 9)
    expect(verdict).toMatchObject({ range: 'within', carries: true })
  })

  it('does not carry what lets it fall below brown-out, or below where the receiver starts', () => {
    expect(judgeSupply(source(5, 4, 500), needs, { startMilliamps: 50, mostMilliamps: 450 }).carries).toBe(
      false,
    )
    expect(judgeSupply(source(4, 4, 500), needs, { startMilliamps: 90, mostMilliamps: 100 }).carries).toBe(
      false,
    )
    expect(judgeSupply(source(5, 0, 100), needs, { startMilliamps: 50, mostMilliamps: 200 }).carries).toBe(
      false,
    )
  })

  it('is within the label at both its ends, and outside beyond', () => {
    const load = { startMilliamps: 1, mostMilliamps: 1 }
    const range = (volts: number) => judgeSupply(source(volts, 0, 500), needs, load).range
    expect([3.9, 4, 10, 10.1].map(range)).toEqual(['too-low', 'within', 'within', 'too-high'])
  })
})

describe('what the adapter feeds in', () => {
  it('is its supply behind its own resistance and two wires: 0.4 Ω and 2 x 0.3 m of AWG 26 make 0.480 Ω', () => {
    const feed = adapterFeed(setupWith())
    expect(feed).toMatchObject({ openVolts: 5, limitMilliamps: 450, throughCable: true })
    expect(feed?.seriesOhms).toBeCloseTo(0.4 + 2 * 0.3 * 0.1339, 3)
  })

  it('has to carry receiver, servos and sensors: 45 + 35 mA, 8 a servo, 15 a sensor', () => {
    const load = loadOf(setupWith({ servos: 4 }), source(5, 0, 500))
    expect(load).toEqual({ startMilliamps: 45 + 32, mostMilliamps: 80 + 32 })
    expect(sensorMilliamps(3)).toBe(45)
  })

  it('drops 38 mV in 0.480 Ω at the 80 mA of a write, 4.96 V are left', () => {
    const [found] = budget(setupWith(), adapterFeed(setupWith())!)
    expect(found).toMatchObject({ code: 'budget', severity: 'ok' })
    expect(found.why).toContain('38 mV')
    expect(found.volts).toBeCloseTo(5 - 0.08 * 0.48, 3)
  })

  it('may be eaten up by a long thin cable: 20 m of AWG 36 are 54 Ω', () => {
    const { findings } = check({ cable: { lengthMetres: 20, awg: 36 } })
    const found = findings.find(f => f.code === 'supply-load')
    expect(found?.severity).toBe('block')
    const ohms = 0.4 + 40 * awgOhmsPerMetre(36)
    expect(ohms).toBeGreaterThan(50)
    expect(found?.volts).toBeCloseTo(5 - 0.08 * ohms, 3)
  })

  it('may be too weak: 50 mA for a receiver of 80 mA', () =>
    expect(
      codes(
        check({ adapter: { supply: { volts: 5, limitMilliamps: 50, sourceOhms: 0.4 } } }).findings,
        'block',
      ),
    ).toEqual(['supply-load']))

  it('is better not asked to move servos', () => {
    expect(codes(check({ servos: 3 }).findings, 'warn')).toContain('servos-on-adapter')
    expect(codes(check().findings, 'warn')).not.toContain('servos-on-adapter')
  })
})

describe('two supplies at once', () => {
  const both = { feed: 'both' as const }
  it('drive a current through each other by Millman, in the findings and at the pins alike', () => {
    const setup = setupWith({ own: { volts: 6, internalOhms: 0.1 } }, both)
    const [cable, own] = [adapterFeed(setup)!, ownFeed(setup.own)]
    const lead = 0.1 + 2 * 0.3 * 0.05296
    const conductance = 1 / 0.4803 + 1 / lead
    const [found] = supplyFindings(setup).filter(f => f.code === 'two-supplies')
    expect(found).toMatchObject({ severity: 'danger', pin: 2 })
    expect(found.volts).toBeCloseTo((5 / 0.4803 + 6 / lead) / conductance, 2)
    expect(feedBoth(cable, own).backFeedMilliamps).toBeCloseTo(1000 / (0.4803 + lead), 0)
    // The circuit, solved as a whole, has to say the same of the two pins.
    expect(netsOf(setup).railVolts?.atRest).toBeCloseTo(found.volts ?? 0, 2)
  })

  it('are refused too where they happen to be equal, and where the choice says “own” but the wire is there', () => {
    expect(codes(check({}, both).findings, 'block')).toContain('two-supplies')
    expect(codes(check({}, { feed: 'own-supply' }).findings, 'block')).toContain('two-supplies')
  })

  it('are one when the cable brings none', () => {
    const apart = { cable: { pinWires: DIRECT.filter(w => w.from !== 2) } }
    expect(check(apart, { feed: 'own-supply' }).safe).toBe(true)
    expect(check(apart, both).safe).toBe(true)
  })

  it('may not run into an adapter that gives none: what its pin stands is not known', () =>
    expect(
      codes(check({ adapter: { supply: undefined } }, { feed: 'own-supply' }).findings, 'block'),
    ).toEqual(['supply-into-adapter']))

  it('are not safe where the second one is not named', () => {
    const bench = wiringBench()
    const unnamed = { ...bench, models: [], wiring: { ...bench.wiring, benchSupplyId: undefined } }
    for (const feed of ['both', 'own-supply'] as const) {
      const found = check({}, { bench: unnamed, feed })
      expect([found.safe, ...codes(found.findings, 'block')]).toEqual([false, 'supply-not-known'])
    }
  })

  it('may be one of which nothing is known', () =>
    expect(codes(check({ adapter: { supply: 'unknown' } }, both).findings, 'block')).toContain(
      'supply-not-known',
    ))

  it('of its own above the label is refused', () => {
    const apart = { cable: { pinWires: DIRECT.filter(w => w.from !== 2) }, own: { volts: 12.6 } }
    expect(codes(check(apart, { feed: 'own-supply' }).findings, 'danger')).toContain('supply-too-high')
  })
})
