import { describe, expect, it } from 'vitest'
import { coreFindings } from '../../shared/wiring/core.ts'
import { lineFindings } from '../../shared/wiring/line-findings.ts'
import { netsOf, OUTPUT_OHMS, toMillivolts } from '../../shared/wiring/nets.ts'
import { pinStates, sayFlow, wireStates } from '../../shared/wiring/pins.ts'
import { carriedBy, judgeWire } from '../../shared/wiring/roles.ts'
import { joinsOf, pinWiresOf, setupOf } from '../../shared/wiring/setup.ts'
import { pinName, wireFindings } from '../../shared/wiring/wire-findings.ts'
import { codes, DIRECT, setupWith, type WiringChange, wires, wiringBench } from '../support/wiring-bench.ts'

const states = (change: WiringChange = {}, request = {}) => {
  const setup = setupWith(change, request)
  const nets = netsOf(setup)
  const findings = coreFindings(setup, nets)
  return { pins: pinStates(setup, nets, findings), wires: wireStates(setup, nets, findings) }
}

describe('which pin may meet which', () => {
  it('is the same for an update cable and for the pins of an adapter', () => {
    expect(judgeWire('positive', 'negative')).toBe('supply-reversed')
    expect(judgeWire(carriedBy.supply, 'negative')).toBe('supply-reversed')
    expect(judgeWire(carriedBy.ground, 'positive')).toBe('ground-on-positive')
    expect(judgeWire(carriedBy.transmit, 'transmit')).toBe('transmit-to-transmit')
    expect(judgeWire(carriedBy.receive, 'receive')).toBe('hears-nothing')
    expect(judgeWire(carriedBy['not-used'], 'signal')).toBe('right')
  })
})

describe('the wires of a cable', () => {
  it('lead from pin to pin, with what the wire itself has: 0.3 m of AWG 26, 0.0402 Ω', () => {
    const { cable, adapter, connector } = setupWith()
    const joins = joinsOf(cable, adapter, connector)
    expect(joins.map(j => [j.from, j.to, j.verdict])).toEqual(DIRECT.map(w => [w.from, w.to, 'right']))
    expect(joins[0].ohms).toBeCloseTo(0.3 * 0.1339, 4)
    expect(joins[2].ohms).toBeCloseTo(1000 + 0.3 * 0.1339, 4)
  })

  it('of an update cable lead from role to role, where the adapter has such pins', () => {
    const roles = (['signal', 'positive', 'negative'] as const).map(role => ({ from: role, to: role }))
    const { cable, adapter, connector } = setupWith({ cable: { pinWires: undefined, wires: roles } })
    expect(pinWiresOf(cable, adapter, connector)).toEqual(wires([2, 2], [1, 3]))
    const single = { ...adapter, pins: [...adapter.pins, { name: 'SW', role: 'single-wire' as const }] }
    expect(pinWiresOf(cable, single, connector)).toEqual(wires([5, 1], [2, 2], [1, 3]))
  })

  it('may name a pin that is not there', () => {
    const setup = setupWith({ cable: { pinWires: wires([9, 1]) } })
    expect(setup.joins[0].verdict).toBe('no-pin')
    expect(codes(wireFindings(setup, netsOf(setup)))).toEqual(['wire-to-no-pin'])
    expect(pinName([{ name: 'S' }], 1)).toBe('1 (S)')
  })
})

describe('what every pin gets', () => {
  it('at rest, at the least and at the most', () => {
    const [signal, positive, negative] = states().pins
    expect(signal).toMatchObject({
      volts: 3.3,
      lowestVolts: 0,
      highestVolts: 3.3,
      flow: 'both',
      verdict: 'right',
    })
    expect(positive).toMatchObject({ volts: 5, flow: 'in', words: '5.0 V at rest, into the receiver' })
    expect(negative).toMatchObject({ volts: 0, flow: 'return', words: '0 V, ground' })
  })

  it('is nothing where no wire reaches, and the receiver’s own where the adapter only listens', () => {
    const { pins } = states({ cable: { pinWires: wires([1, 3], [4, 1]) } })
    expect(pins[0]).toMatchObject({ volts: null, flow: 'out' })
    expect(pins[1]).toMatchObject({ volts: null, verdict: 'open', words: 'nothing reaches it' })
  })

  it('comes from its own supply where that feeds it', () => {
    const apart = { cable: { pinWires: DIRECT.filter(w => w.from !== 2) }, own: { volts: 6.6 } }
    const { pins } = states(apart, { feed: 'own-supply' })
    expect(pins[1]).toMatchObject({ volts: 6.6, flow: 'in', fedBy: 'Pack', from: [], verdict: 'right' })
  })

  it('rests low on inverted lines', () =>
    expect(states({ adapter: { inverts: true }, bus: { inverted: true } }).pins[0]).toMatchObject({
      volts: 0,
      highestVolts: 3.3,
    }))

  it('is said of the wires too, wrong ones as wrong', () => {
    expect(states().wires.map(w => [w.flow, w.state])).toEqual([
      ['return', 'right'],
      ['in', 'right'],
      ['in', 'right'],
      ['out', 'right'],
    ])
    const { wires: bad } = states({ cable: { pinWires: wires([1, 2], [2, 3], [4, 1]) } })
    expect(bad.map(w => w.state)).toEqual(['wrong', 'wrong', 'right'])
    expect(states({ adapter: { signalVolts: 5 }, bus: { toleratesVolts: 'unknown' } }).wires[2].state).toBe(
      'not-known',
    )
    expect(sayFlow('both')).toBe('both ways')
  })

  it('clashes with what the receiver answers: 3.3 V over two outputs of 50 Ω', () => {
    const setup = setupWith({ cable: { pinWires: wires([1, 3], [2, 2], [3, 1]) } })
    expect(netsOf(setup).contentionMilliamps(1)).toBeCloseTo(3300 / (2 * OUTPUT_OHMS), 0)
    expect(codes(lineFindings(setup, netsOf(setup)), 'block')).toEqual(['transmit-only', 'join-without-part'])
    expect(toMillivolts(4.99996)).toBe(5)
  })
})

describe('gathering', () => {
  it('says which supply feeds, and none beside the cable where it feeds alone', () => {
    const ask = { bench: wiringBench(), receiverId: 'wren-trainer', adapterId: 'adapter', cableId: 'cable' }
    const own = (feed: 'through-cable' | 'both', supplyId?: string) => {
      const done = setupOf({ ...ask, feed, supplyId })
      return done.ok ? done.value?.own?.id : done.problems[0].field
    }
    expect(own('through-cable')).toBeUndefined()
    expect(own('both')).toBe('own')
    expect(own('both', 'none')).toBe('supply')
  })
})
