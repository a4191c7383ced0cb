import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import type { CableUnit } from '../../shared/model/gear.ts'
import {
  carries,
  feedOf,
  supplyOnSignal,
  swapsSupply,
  type Table,
  voltsOnSignalPin,
  voltsUnderLoad,
} from '../../shared/wiring/feed.ts'
import { leadOhms } from '../../shared/wiring/wire.ts'

const bench = demoBench()
const straight = bench.cables[0]
const wired = (...pairs: [CableUnit['wires'][0]['from'], CableUnit['wires'][0]['to']][]): CableUnit => ({
  ...straight,
  wires: pairs.map(([from, to]) => ({ from, to })),
})
const table = (change: Partial<Table> = {}): Table => ({
  route: 'cable',
  radioType: bench.catalogue.radioTypes[0],
  supply: bench.supplies.find(s => s.id === 'life-2'),
  cable: straight,
  wiring: bench.wiring,
  ...change,
})
const fedBy = (cableFeed: Table['wiring']['cableFeed']) => ({ wiring: { ...bench.wiring, cableFeed } })

describe('what feeds the receiver', () => {
  it('through the cable: the port behind its own resistance and both conductors', () => {
    const feed = feedOf(table())
    expect(feed).toMatchObject({ openVolts: 5, limitMilliamps: 500, throughCable: true })
    expect(feed.seriesOhms).toBeCloseTo(0.35 + leadOhms(0.3, 26), 10)
  })

  it("falls by Ohm's law under load", () => {
    const feed = { ...feedOf(table()), seriesOhms: 0.5 }
    expect(voltsUnderLoad(feed, 200)).toBeCloseTo(5 - 0.2 * 0.5, 10)
    expect(voltsUnderLoad(feed, 200, 10)).toBeCloseTo(5 - 0.2 * 10.5, 10)
  })

  it('comes in reversed when the cable swaps positive and negative, whatever feeds besides', () => {
    const crossed = wired(['positive', 'negative'], ['negative', 'positive'], ['signal', 'signal'])
    expect(swapsSupply(crossed)).toBe(true)
    expect(feedOf(table({ cable: crossed })).openVolts).toBe(-5)
    expect(feedOf(table({ cable: crossed, ...fedBy('own-supply') })).openVolts).toBe(-5)
    expect(feedOf(table({ cable: crossed, route: 'wireless' })).openVolts).toBe(6.6)
  })

  it('is nothing without both wires, without a cable, or without a port', () => {
    expect(feedOf(table({ cable: wired(['signal', 'signal'], ['negative', 'negative']) })).openVolts).toBe(0)
    expect(feedOf(table({ cable: undefined })).openVolts).toBe(0)
    expect(
      feedOf(table({ radioType: { ...bench.catalogue.radioTypes[0], updatePort: 'unknown' } })).openVolts,
    ).toBe(0)
    expect(feedOf(table({ supply: undefined, ...fedBy('own-supply') })).openVolts).toBe(0)
  })

  it("two at once meet by Millman's theorem, and drive current through each other", () => {
    const both = feedOf(table(fedBy('both')))
    const port = feedOf(table())
    const pack = feedOf(table(fedBy('own-supply')))
    const conductance = 1 / port.seriesOhms + 1 / pack.seriesOhms
    expect(both.openVolts).toBeCloseTo((5 / port.seriesOhms + 6.6 / pack.seriesOhms) / conductance, 9)
    expect(both.seriesOhms).toBeCloseTo(1 / conductance, 9)
    expect(both.backFeedMilliamps).toBeCloseTo((1.6 / (port.seriesOhms + pack.seriesOhms)) * 1000, 6)
    expect(both.backFeedLimitMilliamps).toBe(500)
    // No load: what flows in from the one flows out into the other, so the node sits between both.
    expect(both.openVolts).toBeGreaterThan(5)
    expect(both.openVolts).toBeLessThan(6.6)
  })

  it('with one of two missing, is the other', () =>
    expect(feedOf(table({ supply: undefined, ...fedBy('both') }))).toEqual(feedOf(table())))

  it('puts the supply on the signal pin where a plug sits one pin off', () => {
    const shifted = wired(['positive', 'signal'], ['signal', 'positive'], ['negative', 'negative'])
    expect(supplyOnSignal(shifted)).toBe(true)
    expect(carries(shifted, 'negative')).toBe(true)
    expect(voltsOnSignalPin(table({ cable: shifted }))).toBe(5)
    expect(voltsOnSignalPin(table())).toBe(0)
    expect(voltsOnSignalPin(table({ cable: shifted, route: 'wireless' }))).toBe(0)
  })
})
