import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Circuit, currentOf, islands, solve } from '../../shared/wiring/circuit.ts'

/** Worked by hand from Ohm's law and Kirchhoff's two laws. */
describe('a circuit of resistors and sources', () => {
  it('divides: 9 V over 1 kΩ and 2 kΩ leave 6 V at the middle, and 3 mA flow', () => {
    const source = { plus: 1, minus: 0, volts: 9, ohms: 0.001 }
    const circuit: Circuit = {
      nodes: 3,
      resistors: [
        { a: 1, b: 2, ohms: 1000 },
        { a: 2, b: 0, ohms: 2000 },
      ],
      sources: [source],
    }
    const volts = solve(circuit, [0])
    expect(volts[2]).toBeCloseTo(6, 4)
    expect(currentOf(source, volts) * 1000).toBeCloseTo(3, 4)
  })

  it('joins two sources by Millman: 5 V behind 1 Ω and 6 V behind 2 Ω meet at 16/3 V, 1/3 A flows', () => {
    const [low, high] = [
      { plus: 1, minus: 0, volts: 5, ohms: 1 },
      { plus: 1, minus: 0, volts: 6, ohms: 2 },
    ]
    const volts = solve({ nodes: 2, resistors: [], sources: [low, high] }, [0])
    expect(volts[1]).toBeCloseTo(16 / 3, 9)
    expect(currentOf(high, volts)).toBeCloseTo(1 / 3, 9)
    expect(currentOf(low, volts)).toBeCloseTo(-1 / 3, 9)
  })

  it('balances a bridge: equal shares on both sides, so nothing flows through the middle', () => {
    const volts = solve(
      {
        nodes: 4,
        resistors: [
          { a: 1, b: 2, ohms: 100 },
          { a: 2, b: 0, ohms: 300 },
          { a: 1, b: 3, ohms: 200 },
          { a: 3, b: 0, ohms: 600 },
          { a: 2, b: 3, ohms: 47 },
        ],
        sources: [{ plus: 1, minus: 0, volts: 8, ohms: 0.001 }],
      },
      [0],
    )
    expect(volts[2]).toBeCloseTo(6, 3)
    expect(volts[3]).toBeCloseTo(volts[2] ?? 0, 9)
  })

  it('says nothing of what hangs on no reference, and lets each island have its own', () => {
    const circuit: Circuit = {
      nodes: 5,
      resistors: [{ a: 3, b: 4, ohms: 10 }],
      sources: [{ plus: 1, minus: 2, volts: 5, ohms: 1 }],
    }
    expect(islands(circuit)).toEqual([0, 1, 1, 3, 3])
    expect(solve(circuit, [0])).toEqual([0, undefined, undefined, undefined, undefined])
    const both = solve(circuit, [0, 2])
    expect(both[1]).toBeCloseTo(5, 9)
    expect(both[3]).toBeUndefined()
  })

  it('loses no current at any node, whatever hangs together (Kirchhoff’s current law)', () => {
    const ohms = fc.double({ min: 0.01, max: 100_000, noNaN: true })
    const node = fc.integer({ min: 0, max: 6 })
    const resistor = fc.record({ a: node, b: node, ohms }).filter(r => r.a !== r.b)
    const source = fc
      .record({ plus: node, minus: node, ohms, volts: fc.double({ min: -12, max: 12, noNaN: true }) })
      .filter(s => s.plus !== s.minus)
    fc.assert(
      fc.property(
        fc.array(resistor, { maxLength: 12 }),
        fc.array(source, { maxLength: 4 }),
        (resistors, sources) => {
          const circuit = { nodes: 7, resistors, sources }
          const volts = solve(circuit, [0])
          for (let at = 1; at < 7; at++) {
            if (volts[at] === undefined) continue
            const v = (n: number) => volts[n] ?? 0
            const parts = [
              ...resistors.flatMap(r =>
                r.a === at ? [(v(r.a) - v(r.b)) / r.ohms] : r.b === at ? [(v(r.b) - v(r.a)) / r.ohms] : [],
              ),
              ...sources.flatMap(s =>
                s.plus === at ? [-currentOf(s, volts)] : s.minus === at ? [currentOf(s, volts)] : [],
              ),
            ]
            const scale = Math.max(1e-3, ...parts.map(Math.abs))
            expect(Math.abs(parts.reduce((sum, p) => sum + p, 0)) / scale).toBeLessThan(1e-6)
          }
        },
      ),
      { numRuns: 500 },
    )
  })
})
