import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { checkBench } from '../../shared/model/bench.ts'
import { checkWiring, type WiringCheck } from '../../shared/wiring/check.ts'
import { curesFor, keyedPlug, soundWires } from '../../shared/wiring/cures.ts'
import type { WiringRequest } from '../../shared/wiring/setup.ts'
import { check, DIRECT, setupWith, wires } from '../support/wiring-bench.ts'

const checked = (request: WiringRequest): WiringCheck => {
  const done = checkWiring(request)
  if (!done.ok) throw new Error(done.problems[0].message)
  return done.value
}

describe('how the wires should run', () => {
  it('is what the demo’s own cable does', () => expect(soundWires(setupWith())).toEqual(DIRECT))

  it('leaves the supply out where the receiver has its own', () =>
    expect(soundWires(setupWith({}, { feed: 'own-supply' }))).toEqual(DIRECT.filter(w => w.from !== 2)))

  it('crosses two lines, and takes a single-wire pin as it is', () => {
    const two = (['negative', 'positive', 'receive', 'transmit'] as const).map(role => ({ name: role, role }))
    expect(soundWires(setupWith({ connector: { pins: two } }))).toEqual(wires([1, 1], [2, 2], [3, 3], [4, 4]))
    const one = (['single-wire', 'supply', 'ground'] as const).map(role => ({ name: role, role }))
    expect(soundWires(setupWith({ adapter: { pins: one } }))).toEqual(wires([3, 3], [2, 2], [1, 1]))
  })

  it('cannot be said where a pin is missing', () =>
    expect(soundWires(setupWith({ adapter: { pins: [{ name: 'TX', role: 'transmit' }] } }))).toBeUndefined())
})

describe('cures', () => {
  const demo = demoBench()
  const pinWire = fc.record({
    from: fc.integer({ min: 1, max: 5 }),
    to: fc.integer({ min: 1, max: 4 }),
    through: fc.constantFrom('wire' as const, 'resistor' as const, 'diode' as const),
    ohms: fc.constantFrom(undefined, 100, 1000),
  })

  it('take their finding away, bring no danger, and leave a bench that can be saved', () => {
    let applied = 0
    fc.assert(
      fc.property(
        fc.array(pinWire, { maxLength: 6 }),
        fc.constantFrom('through-cable' as const, 'own-supply' as const, 'both' as const),
        fc.constantFrom('wren-trainer', 'heron-scale', 'finch-car'),
        fc.constantFrom('bench-programmer', 'five-volt-adapter'),
        (pinWires, feed, receiverId, adapterId) => {
          const bench = { ...demo, cables: [...demo.cables, { ...demo.cables[2], id: 'odd', pinWires }] }
          const request = { bench, receiverId, adapterId, cableId: 'odd', feed }
          for (const finding of checked(request).findings) {
            const { cure } = finding
            if (cure === undefined) continue
            applied++
            const next = cure.apply ? cure.apply(bench) : bench
            expect(checkBench(next).ok, cure.label).toBe(true)
            const after = checked({ ...request, ...cure.choose, bench: next })
            const same = after.findings.filter(
              f => f.code === finding.code && f.severity === finding.severity,
            )
            if (finding.code !== 'plug-can-turn') expect(same, cure.label).toEqual([])
            expect(
              after.findings.filter(f => f.severity === 'danger'),
              cure.label,
            ).toEqual([])
          }
        },
      ),
      { numRuns: 60 },
    )
    expect(applied).toBeGreaterThan(60)
  })

  it('are not given for what is right, nor for servos that have to be unplugged', () => {
    const { findings } = check({ servos: 4 })
    for (const f of findings)
      if (f.severity === 'ok' || f.code === 'servos-on-adapter') expect(f.cure, f.code).toBeUndefined()
    const request = { bench: demo, receiverId: 'wren-trainer', adapterId: 'bench-programmer', cableId: 'odd' }
    const cureOf = curesFor({ ...request, feed: 'both' }, setupWith(), [])
    expect(cureOf({ code: 'ground', severity: 'ok', why: '' })).toBeUndefined()
  })

  it('are none where they would only put another thing in the way', () => {
    const asked = { bench: demo, receiverId: 'wren-trainer', adapterId: 'bench-programmer' }
    // One wire cannot carry both ways at once, whatever cable is taken.
    const line = { inverted: false, duplex: 'full' } as const
    const { findings } = checked({ ...asked, cableId: 'programmer-cable', feed: 'through-cable', line })
    const found = findings.find(f => f.code === 'needs-two-lines')
    expect(found?.severity).toBe('block')
    expect(found?.cure).toBeUndefined()
  })

  it('fit a key only where the receiver has one', () => {
    expect(keyedPlug(setupWith({ cable: { plugKeyed: false } }))?.id).toBe('keyed-plug')
    expect(keyedPlug(setupWith({ cable: { plugKeyed: false }, connector: { keyed: false } }))).toBeUndefined()
    expect(keyedPlug(setupWith())).toBeUndefined()
  })

  it('set the inversion of an adapter that is set wrongly', () => {
    const found = check({ adapter: { inverts: true } }).findings.find(f => f.code === 'inverted-line')
    expect(found?.cure?.id).toBe('set-inversion')
    expect(found?.cure?.label).toContain('not inverted')
  })
})
