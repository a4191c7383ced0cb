import { describe, expect, it } from 'vitest'
import { builtInChosen, lineOfChosen } from '../../shared/bench-run/chosen.ts'
import type { PinRole } from '../../shared/model/catalogue.ts'
import type { AdapterRole } from '../../shared/model/gear.ts'
import { controlFindings } from '../../shared/wiring/control-findings.ts'
import { isSafe } from '../../shared/wiring/core.ts'
import { carriedBy, judgeWire } from '../../shared/wiring/roles.ts'
import type { Controls, Line } from '../../shared/wiring/setup.ts'
import { check, codes, setupWith, type WiringChange, wires } from '../support/wiring-bench.ts'

const pins = (...roles: PinRole[]) => roles.map(role => ({ name: role, role }))
const adapterPins = (...roles: AdapterRole[]) => roles.map(role => ({ name: role, role }))

const line = (controls?: Controls): Line => ({
  inverted: false,
  duplex: 'full',
  ...(controls && { controls }),
})
const BOTH: Controls = { dtr: 'boot', rts: 'reset' }

/** Negative, positive, hears, sends, boot, reset; the adapter with DTR on 5 and RTS on 6. */
const gear = (...more: readonly (readonly [number, number])[]): WiringChange => ({
  adapter: { pins: adapterPins('ground', 'supply', 'transmit', 'receive', 'dtr', 'rts') },
  connector: { pins: pins('negative', 'positive', 'receive', 'transmit', 'boot', 'reset') },
  cable: { pinWires: wires([1, 1], [2, 2], [3, 3], [4, 4], ...more) },
})

describe('the control lines of the port', () => {
  it('come to boot and reset where the dialect has them, and the programmer does it by itself', () => {
    const { safe, findings, pins: states } = check(gear([5, 5], [6, 6]), { line: line(BOTH) })
    expect(safe).toBe(true)
    expect(codes(findings, 'ok')).toContain('control')
    expect(codes(findings, 'warn')).not.toContain('control-by-hand')
    expect(states.slice(4).map(p => [p.role, p.volts, p.flow, p.verdict])).toEqual([
      ['boot', 3.3, 'in', 'right'],
      ['reset', 3.3, 'in', 'right'],
    ])
  })

  it('that are swapped are refused, and the cable can be re-pinned', () => {
    const { safe, findings } = check(gear([5, 6], [6, 5]), { line: line(BOTH) })
    expect(safe).toBe(false)
    expect(codes(findings, 'block')).toEqual(['control-swapped', 'control-swapped'])
    const [first] = findings
    expect(first.why).toContain('DTR comes to pin 6 (reset), which resets the receiver')
    expect(first.cure?.id).toBe('rewire-cable')
    expect(first.cure?.label).toContain('dtr to 5 (boot), rts to 6 (reset)')
  })

  it('that are not there leave it to the hand, and that is no refusal', () => {
    const { safe, findings, pins: states } = check(gear(), { line: line(BOTH) })
    expect(safe).toBe(true)
    const byHand = findings.filter(f => f.code === 'control-by-hand')
    expect(byHand.map(f => [f.severity, f.pin])).toEqual([
      ['warn', 5],
      ['warn', 6],
    ])
    expect(byHand[0].why).toContain('by hand')
    expect(states.slice(4).map(p => p.verdict)).toEqual(['open', 'open'])
  })

  it('of a receiver without such pins leave it to the hand too', () => {
    const plain: WiringChange = {
      ...gear(),
      connector: { pins: pins('negative', 'positive', 'receive', 'transmit') },
    }
    const byHand = check(plain, { line: line(BOTH) }).findings.filter(f => f.code === 'control-by-hand')
    expect(byHand.map(f => f.pin)).toEqual([undefined, undefined])
  })

  it('that nobody moves are warned of, for opening a port can pull them', () => {
    const { safe, findings } = check(gear([6, 6]), { line: line() })
    expect(safe).toBe(true)
    expect(codes(findings, 'warn')).toContain('control-unasked')
  })

  it('are nothing to speak of where neither side has any', () => {
    expect(controlFindings(setupWith({}, { line: line() }))).toEqual([])
    const open = check(gear(), { line: line() })
    expect(open.findings.filter(f => f.code.startsWith('control'))).toEqual([])
    expect(open.pins.slice(4).map(p => p.verdict)).toEqual(['right', 'right'])
  })

  it('of 5 V are refused at a receiver that stands 3.6 V, as any other pin', () => {
    const five = gear([5, 5])
    const { findings } = check(
      { ...five, adapter: { ...five.adapter, signalVolts: 5 }, bus: { toleratesVolts: 3.6 } },
      { line: line(BOTH) },
    )
    expect(findings.filter(f => f.code === 'signal-over-volts').map(f => f.pin)).toContain(5)
  })

  it('are in the dialect that moves them', () => {
    const twig = builtInChosen('tamsin-twig')
    if (twig === undefined) throw new Error('there is no such dialect')
    expect(lineOfChosen(twig)?.controls).toEqual(BOTH)
    const xmodem = builtInChosen('xmodem-1k')
    expect(xmodem && lineOfChosen(xmodem)).not.toHaveProperty('controls')
  })
})

describe('what else may come to a control pin', () => {
  it.each([
    ['supply', 'supply-on-signal'],
    ['ground', 'control-held'],
    ['transmit', 'data-on-control'],
    ['single-wire', 'data-on-control'],
    ['receive', 'hears-nothing'],
    ['not-used', 'right'],
  ] as const)('%s: %s', (role, verdict) => {
    expect(judgeWire(carriedBy[role], 'boot')).toBe(verdict)
    expect(judgeWire(carriedBy[role], 'reset')).toBe(verdict)
  })

  it('a supply there is a danger, a pin held down is in the way', () => {
    const supply = check(gear([2, 5]), { line: line() })
    expect(codes(supply.findings, 'danger')).toContain('supply-on-signal')
    const ground = check(gear([1, 6]), { line: line() })
    expect(codes(ground.findings, 'block')).toContain('control-held')
    expect(isSafe(ground.findings)).toBe(false)
  })
})
