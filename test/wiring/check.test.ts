import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { checkWiring } from '../../shared/wiring/check.ts'
import { coreFindings, isSafe, worstFirst } from '../../shared/wiring/core.ts'
import { sayMilliamps, sayVolts } from '../../shared/wiring/finding.ts'
import { check, codes, DIRECT, setupWith, type WiringChange, wires } from '../support/wiring-bench.ts'

const pins = (...roles: ('signal' | 'positive' | 'negative' | 'transmit' | 'receive' | 'not-used')[]) =>
  roles.map(role => ({ name: role, role }))
/** A service connector with two lines: negative, positive, what the receiver hears, what it sends. */
const twoLines: WiringChange = {
  connector: { pins: pins('negative', 'positive', 'receive', 'transmit') },
  cable: { pinWires: wires([1, 1], [2, 2], [3, 3], [4, 4]) },
}
const withWires = (...pairs: readonly (readonly [number, number])[]): WiringChange => ({
  cable: { pinWires: wires(...pairs) },
})

describe('the demo', () => {
  const bench = demoBench()
  const demo = (adapterId: string, cableId: string, receiverId = 'wren-trainer') => {
    const done = checkWiring({ bench, receiverId, adapterId, cableId, feed: 'through-cable' })
    if (!done.ok) throw new Error(done.problems[0].message)
    return done.value
  }

  it('lets the programmer with its cable through, and says what every pin gets', () => {
    const { safe, pins: states, findings } = demo('bench-programmer', 'programmer-cable')
    expect(safe).toBe(true)
    expect(states.map(p => [p.role, p.volts?.toFixed(1), p.flow, p.verdict])).toEqual([
      ['signal', '3.3', 'both', 'right'],
      ['positive', '5.0', 'in', 'right'],
      ['negative', '0.0', 'return', 'right'],
    ])
    expect(codes(findings, 'ok')).toEqual(
      expect.arrayContaining(['ground', 'one-supply', 'budget', 'line', 'polarity', 'levels', 'keyed']),
    )
  })

  it('refuses the cable with positive and negative swapped, and would take the good one', () => {
    const { safe, findings } = demo('bench-programmer', 'programmer-cable-swapped')
    expect(safe).toBe(false)
    expect(findings[0]).toMatchObject({
      code: 'supply-reversed',
      severity: 'danger',
      pin: 3,
      volts: 5,
      cure: { id: 'take-cable', choose: { cableId: 'programmer-cable' } },
    })
  })

  it('says of the cable with TX alone that no answer comes back', () => {
    const { safe, findings } = demo('bench-programmer', 'programmer-cable-tx-only')
    expect(safe).toBe(false)
    expect(codes(findings, 'block')).toEqual(['transmit-only', 'join-without-part'])
  })

  it('tells 5 V on a pin that stands 3.6 V from 5 V on one of which nobody knows, and on one that stands 5.5 V', () => {
    const at = (receiver: string) => demo('five-volt-adapter', 'programmer-cable', receiver)
    expect(at('wren-trainer').findings[0]).toMatchObject({
      code: 'signal-over-volts',
      severity: 'danger',
      pin: 1,
    })
    expect(at('heron-biplane').findings[0]).toMatchObject({ code: 'tolerance-not-known', severity: 'block' })
    expect(at('heron-biplane').pins[0].verdict).toBe('not-known')
    expect(at('finch-foamie').safe).toBe(true)
  })

  it('says nothing safe of a receiver whose type is not known', () => {
    const done = demo('bench-programmer', 'programmer-cable', 'flea-market')
    expect(done).toMatchObject({ safe: false, pins: [], findings: [{ code: 'receiver-not-known' }] })
  })

  it('names the choice that the bench does not have', () => {
    const ask = { bench, receiverId: 'r', adapterId: 'a', cableId: 'c', feed: 'both' as const, supplyId: 's' }
    const done = checkWiring(ask)
    expect(!done.ok && done.problems.map(p => p.field)).toEqual(['receiver', 'adapter', 'cable', 'supply'])
  })
})

describe('each danger', () => {
  const cases: [string, string, WiringChange, number | undefined][] = [
    ['positive and negative swapped', 'supply-reversed', withWires([1, 2], [2, 3], [4, 1]), 3],
    ['only negative fed', 'supply-reversed', withWires([2, 3], [4, 1]), 3],
    ['supply on signal', 'supply-on-signal', withWires([1, 3], [2, 1], [4, 1]), 1],
    ['ground on positive', 'ground-on-positive', withWires([1, 2], [4, 1]), 2],
    ['ground on signal, as by a plug turned round', 'ground-on-signal', withWires([1, 1], [2, 2], [3, 3]), 1],
    ['TX in place of ground', 'data-on-negative', withWires([1, 1], [2, 2], [3, 3]), 3],
    ['TX on positive', 'data-on-positive', withWires([1, 3], [3, 2], [4, 1]), 2],
    [
      'a supply above what the label says',
      'supply-too-high',
      { adapter: { supply: { volts: 12, limitMilliamps: 500, sourceOhms: 0.4 } } },
      2,
    ],
    ['signals above what the pin stands', 'signal-over-volts', { adapter: { signalVolts: 5 } }, 1],
    [
      'answers above what the adapter stands',
      'adapter-over-volts',
      { adapter: { signalVolts: 1.8, toleratesVolts: 2 } },
      undefined,
    ],
  ]
  it.each(cases)('%s: %s', (_, code, change, pin) => {
    const { safe, findings } = check(change)
    expect(safe).toBe(false)
    const found = findings.find(f => f.code === code)
    expect(found).toMatchObject({ severity: 'danger' })
    expect(found?.pin).toBe(pin)
    expect(found?.why).toMatch(/\.$/)
  })

  it('is seen too where no single wire shows it: the supply reaches the signal pin by way of RX', () => {
    // Supply and RX meet on the positive pin, and RX leads on to the signal pin.
    const { safe, findings } = check(withWires([1, 3], [2, 2], [4, 2], [4, 1]))
    expect(safe).toBe(false)
    expect(findings.find(f => f.pin === 1 && f.severity === 'danger')).toMatchObject({
      code: 'signal-over-volts',
      volts: expect.closeTo(5, 1),
    })
  })

  it('is seen where a spare pin of the adapter shorts its supply', () => {
    const spare = [...demoBench().adapters[0].pins, { name: 'NC', role: 'not-used' as const }]
    const { findings } = check({ adapter: { pins: spare }, ...withWires([1, 3], [2, 2], [5, 2], [5, 3]) })
    expect(codes(findings, 'danger')).toContain('supply-short')
  })

  it('is not there with the sound cable', () => expect(codes(check().findings, 'danger')).toEqual([]))
})

describe('what does not work', () => {
  const cases: [string, string, WiringChange][] = [
    ['no ground', 'no-ground', withWires([2, 2], [4, 1])],
    ['no supply wire', 'no-supply', withWires([1, 3], [4, 1])],
    ['an adapter without a supply', 'no-supply', { adapter: { supply: undefined } }],
    ['nothing joined', 'not-connected', withWires([1, 3], [2, 2])],
    ['RX alone', 'receive-only', withWires([1, 3], [2, 2], [4, 1])],
    ['TX on the line without a part', 'join-without-part', withWires([1, 3], [2, 2], [3, 1], [4, 1])],
    ['a line that is inverted at one end', 'inverted-line', { adapter: { inverts: true } }],
    ['1.8 V into 3.3 V', 'level-too-low', { adapter: { signalVolts: 1.8, toleratesVolts: 5 } }],
    ['a wire to a pin that is not there', 'wire-to-no-pin', withWires([1, 3], [2, 2], [7, 1])],
    [
      'a wire to a pin nobody knows',
      'unused-pin-driven',
      { connector: { pins: pins('signal', 'positive', 'negative', 'not-used') }, ...withWires([2, 4]) },
    ],
    [
      'DTR on the line',
      'control-on-line',
      {
        adapter: { pins: [...demoBench().adapters[0].pins, { name: 'DTR', role: 'dtr' }] },
        ...withWires([5, 1]),
      },
    ],
    [
      'a diode on an inverted line',
      'diode-on-inverted',
      {
        bus: { inverted: true },
        adapter: { inverts: true },
        cable: { pinWires: [...DIRECT.slice(0, 2), { ...DIRECT[2], through: 'diode' }, DIRECT[3]] },
      },
    ],
    [
      'a resistor in the supply wire',
      'part-in-supply-wire',
      {
        cable: {
          pinWires: [DIRECT[0], { ...DIRECT[1], through: 'resistor', ohms: 10 }, DIRECT[2], DIRECT[3]],
        },
      },
    ],
    [
      'TX to TX',
      'transmit-to-transmit',
      { ...twoLines, cable: { pinWires: wires([1, 1], [2, 2], [3, 4], [4, 3]) } },
    ],
    [
      'RX to RX',
      'hears-nothing',
      { ...twoLines, cable: { pinWires: wires([1, 1], [2, 2], [3, 4], [4, 3]) } },
    ],
  ]
  it.each(cases)('%s: %s', (_, code, change) => {
    const { safe, findings } = check(change)
    expect(safe).toBe(false)
    expect(codes(findings, 'block')).toContain(code)
  })

  it('is what is not known, which is never safe', () => {
    const open: [string, WiringChange][] = [
      ['level-not-known', { adapter: { signalVolts: 'unknown' } }],
      ['inversion-not-known', { adapter: { inverts: 'unknown' } }],
      ['inversion-not-known', { bus: { inverted: 'unknown' } }],
      ['supply-not-known', { adapter: { supply: 'unknown' } }],
      ['tolerance-not-known', { adapter: { signalVolts: 5 }, bus: { toleratesVolts: 'unknown' } }],
      ['tolerance-not-known', { adapter: { signalVolts: 5 }, bus: { toleratesVolts: undefined } }],
      [
        'tolerance-not-known',
        { adapter: { signalVolts: 3.3, toleratesVolts: 'unknown' }, bus: { signalVolts: 5 } },
      ],
    ]
    for (const [code, change] of open) {
      const { safe, findings } = check(change)
      expect(safe, code).toBe(false)
      expect(codes(findings, 'block')).toContain(code)
    }
  })

  it('does work over two lines, one for each direction, both at once', () => {
    expect(check(twoLines).safe).toBe(true)
    expect(check(twoLines, { line: { inverted: false, duplex: 'full' } }).safe).toBe(true)
    const one = check({}, { line: { inverted: false, duplex: 'full' } })
    expect(codes(one.findings, 'block')).toEqual(['needs-two-lines'])
  })

  it('takes the line as the dialect says, not as the type does', () => {
    const upside = check({ adapter: { inverts: true } }, { line: { inverted: true, duplex: 'half' } })
    expect(upside.safe).toBe(true)
  })
})

describe('joining one wire', () => {
  const through = (part: object) =>
    check({ cable: { pinWires: [DIRECT[0], DIRECT[1], { ...DIRECT[2], ...part }, DIRECT[3]] } })
  it('needs a part that gives way: 3.3 V over two outputs of 50 Ω are 33 mA without, 3 mA with 1 kΩ', () => {
    const bare = through({ through: 'wire', ohms: undefined }).findings.find(
      f => f.code === 'join-without-part',
    )
    expect(bare?.why).toContain('33 mA')
    expect(through({}).safe).toBe(true)
    expect(through({ through: 'diode', ohms: undefined }).safe).toBe(true)
    expect(codes(through({ through: 'diode', ohms: undefined }).findings, 'warn')).toContain('diode-pull-up')
    // Eight milliamperes are the most: 3.3 V over 100 Ω and 312 Ω.
    expect(codes(through({ ohms: 300 }).findings)).toContain('join-without-part')
    expect(codes(through({ ohms: 330 }).findings)).not.toContain('join-without-part')
  })

  it('by a diode keeps 5 V of the adapter away from the pin, but lets no answer through where RX is', () => {
    const diode = { ...DIRECT[2], through: 'diode' as const, ohms: undefined }
    const five = {
      adapter: { signalVolts: 5 as const },
      cable: { pinWires: [DIRECT[0], DIRECT[1], diode, DIRECT[3]] },
    }
    expect(codes(check(five).findings, 'danger')).toEqual([])
    const wrongWay = {
      cable: { pinWires: [...DIRECT.slice(0, 3), { ...DIRECT[3], through: 'diode' as const }] },
    }
    expect(codes(check(wrongWay).findings, 'block')).toEqual(['diode-in-answer'])
  })

  it('does not take a resistor of no known value for one', () =>
    expect(codes(through({ ohms: undefined }).findings)).toContain('join-without-part'))

  it('warns of one so large that the line rises slowly', () =>
    expect(codes(through({ ohms: 47_000 }).findings, 'warn')).toContain('join-weak'))
})

describe('findings', () => {
  it('stand worst first, a reversed supply before all', () => {
    const f = (
      severity: 'ok' | 'danger' | 'block',
      code: 'ground' | 'no-ground' | 'supply-reversed' | 'supply-short',
    ) => ({
      code,
      severity,
      why: '',
    })
    const sorted = worstFirst([
      f('ok', 'ground'),
      f('danger', 'supply-short'),
      f('block', 'no-ground'),
      f('danger', 'supply-reversed'),
    ])
    expect(codes(sorted)).toEqual(['supply-reversed', 'supply-short', 'no-ground', 'ground'])
    expect(isSafe(sorted)).toBe(false)
    expect(isSafe([sorted[3]])).toBe(true)
  })

  it('leave out what only follows from a supply on wrong pins', () => {
    const found = codes(coreFindings(setupWith(withWires([1, 2], [2, 3], [4, 1]))))
    expect(found).toContain('supply-reversed')
    for (const follows of ['no-ground', 'no-supply', 'signal-below-ground'])
      expect(found).not.toContain(follows)
  })

  it('say volts and milliamperes shortly', () => {
    expect([5, 0.3, -0.001, -5].map(sayVolts)).toEqual(['5.0 V', '0.30 V', '0 V', '-5.0 V'])
    expect([33.4, 1666].map(sayMilliamps)).toEqual(['33 mA', '1.7 A'])
  })
})
