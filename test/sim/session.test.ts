import { describe, expect, it } from 'vitest'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { describeFrame } from '../../shared/procedure/bus.ts'
import type { Procedure } from '../../shared/procedure/effects.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import { blankMemory } from '../../shared/sim/memory.ts'
import { packedTraceSchema, packTrace, unpackTrace } from '../../shared/sim/pack.ts'
import { runSession } from '../../shared/sim/session.ts'
import { BURST, type Lane } from '../../shared/sim/trace.ts'
import { traceText } from '../../shared/sim/trace-text.ts'
import { calmWorld } from '../../shared/sim/world.ts'
import { decodeFrame } from '../../shared/wire/hdlc.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'

function clean(route: 'cable' | 'wireless') {
  const done = rehearse(smallRequest({ route }))
  if (!done.ok) throw new Error(done.problems[0].message)
  return done.value
}
const burst = (lane: Lane, i: number) =>
  lane.octets.subarray(lane.firstOctet[i], lane.firstOctet[i] + lane.octetCount[i])

describe('what is on the lines in a clean session', () => {
  for (const route of ['cable', 'wireless'] as const)
    it(`by ${route}: every burst is a good RFC 1662 frame that has words, and none overlap`, () => {
      const { trace } = clean(route)
      for (const lane of trace.lanes) {
        expect(lane.burstCount).toBeGreaterThan(100)
        let untilNs = 0
        for (let i = 0; i < lane.burstCount; i++) {
          const frame = decodeFrame(burst(lane, i))
          if (!frame.ok) throw new Error(`${lane.id} ${i}: ${frame.reason}`)
          expect(describeFrame(frame.body).title).not.toMatch(/^(Kind|Too short)/)
          expect(lane.flags[i]).toBe(0)
          if (lane.id === 'air') continue
          expect(lane.startNs[i]).toBeGreaterThanOrEqual(untilNs)
          untilNs =
            lane.startNs[i] + Math.round((lane.octetCount[i] * lane.bitsPerCharacter * 1e9) / lane.baud)
        }
      }
    })

  it('the supply follows the load, and never falls to the brown-out level', () => {
    const { supply } = clean('cable').trace
    expect(Math.min(...supply.volts.subarray(0, supply.count))).toBeGreaterThan(3.4)
    expect(new Set(supply.milliamps.subarray(0, supply.count)).size).toBeGreaterThan(2)
  })

  it('phases follow one another without a gap, in their order', () => {
    const { phases, endNs } = clean('cable').trace
    expect(phases.map(p => p.id)).toEqual([
      ...[
        'stage',
        'check',
        'quiet',
        'enter',
        'identify',
        'begin',
        'erase',
        'write',
        'verify',
        'commit',
        'restart',
      ],
    ])
    for (let i = 1; i < phases.length; i++) expect(phases[i].startNs).toBe(phases[i - 1].endNs)
    expect(phases.at(-1)?.endNs).toBe(endNs)
  })

  it('marks what nobody could hear any more', () => {
    const done = rehearse(smallRequest({ faults: [{ name: 'cable-loose', value: '1' }] }))
    if (!done.ok) throw new Error(done.problems[0].message)
    const [lane] = done.value.trace.lanes
    const after = [...lane.startNs].findIndex(ns => ns > 1.2e9)
    expect(after).toBeGreaterThan(0)
    for (let i = after; i < lane.burstCount; i++) expect(lane.flags[i] & BURST.lost).toBe(BURST.lost)
  })
})

describe('a trace on its way', () => {
  it('comes out of the contract as it went in', () => {
    const { trace } = clean('wireless')
    const packed = packedTraceSchema.parse(packTrace(trace))
    expect(traceText(unpackTrace(packed))).toBe(traceText(trace))
    expect(unpackTrace(packed).progress).toEqual(trace.progress)
  })

  it('as text is one JSON value a line, with every octet of every burst', () => {
    const { trace } = clean('cable')
    const lines = traceText(trace)
      .trimEnd()
      .split('\n')
      .map(line => JSON.parse(line))
    expect(lines[0]).toMatchObject({ preflashTrace: 1, simulated: true })
    const bursts = lines.filter(l => l.lane === 'bus' && typeof l.by === 'number')
    const [lane] = trace.lanes
    expect(bursts).toHaveLength(lane.burstCount)
    expect(bursts.map(b => b.octets).join('')).toBe(Buffer.from(lane.octets).toString('hex'))
    expect(lines.filter(l => l.flash !== undefined)).toHaveLength(trace.flash.count)
  })
})

describe('a session', () => {
  const options = {
    setup: { bench: smallBench(), receiverId: 'wren-trainer', route: 'cable', world: calmWorld } as const,
    seed: 1,
    memory: blankMemory(smallBench().catalogue.receiverTypes[0]),
    image: builtFacts(smallBench().images[0], smallBench().catalogue.receiverTypes[0]),
    onStaged: () => {},
  }

  it('lets time pass only where the procedure waits', () => {
    function* waits(): Procedure<string> {
      yield { do: 'wait', ms: 12.5 }
      yield { do: 'say', event: { kind: 'note', level: 'info', text: 'here' } }
      return 'done'
    }
    const end = runSession(options, waits())
    expect(end.result).toBe('done')
    expect(end.endNs).toBe(12_500_000)
    expect(end.trace.events.find(e => e.event.kind === 'note')?.atNs).toBe(12_500_000)
  })

  it('stops a procedure that never ends', () => {
    function* forever(): Procedure<void> {
      for (;;) yield { do: 'wait', ms: 600_000 }
    }
    // By air, where nobody polls for those four hours.
    const byAir = { ...options, setup: { ...options.setup, route: 'wireless' as const } }
    expect(() => runSession(byAir, forever())).toThrow(/four hours/)
  })

  it('does not begin with a receiver that is not there', () => {
    function* nothing(): Procedure<void> {}
    expect(() =>
      runSession({ ...options, setup: { ...options.setup, receiverId: 'nobody' } }, nothing()),
    ).toThrow(/no receiver/)
  })
})

describe('a receiver without power', () => {
  it('hears nothing, and what is sent to it is marked so', () => {
    const bench = smallBench()
    const alone = { ...bench, sensors: [] }
    const done = rehearse(smallRequest({ bench: alone, faults: [{ name: 'power-cut', value: '1' }] }))
    if (!done.ok) throw new Error(done.problems[0].message)
    const [lane] = done.value.trace.lanes
    const flags = (after: boolean) =>
      [...lane.startNs].flatMap((ns, i) =>
        ns > 1e9 === after && lane.talker[i] === 0 ? [lane.flags[i]] : [],
      )
    expect(flags(true).length).toBeGreaterThan(3)
    expect(new Set(flags(true))).toEqual(new Set([BURST.lost]))
    // The radio polls before the receiver has started, and is heard from then on.
    expect(flags(false).filter(f => f === 0).length).toBeGreaterThan(10)
  })
})
