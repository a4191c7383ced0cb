import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { decodeEnvelope, encodeEnvelope } from '../../shared/api/envelope.ts'
import { FAILURES, OUTCOMES, type SessionEvent } from '../../shared/procedure/effects.ts'
import { packedTraceSchema, packTrace, unpackTrace } from '../../shared/sim/pack.ts'
import type { Lane, Trace } from '../../shared/sim/trace.ts'
import { PHASES } from '../../shared/sim/trace.ts'

const plain = { noNullPrototype: true } as const
const time = fc.nat(2 ** 53 - 1)
const u8 = (n: number) => fc.uint8Array({ minLength: n, maxLength: n })
const u16 = (n: number) => fc.uint16Array({ minLength: n, maxLength: n })
const u32 = (n: number) => fc.uint32Array({ minLength: n, maxLength: n })
const f32 = (n: number) => fc.float32Array({ minLength: n, maxLength: n })
const times = (n: number) => fc.array(time, { minLength: n, maxLength: n }).map(t => Float64Array.from(t))
/** As many entries as it says, from none on. */
const counted = <T>(make: (count: number) => fc.Arbitrary<T>) => fc.nat(9).chain(make)

const lane: fc.Arbitrary<Lane> = counted(n =>
  fc.record(
    {
      id: fc.constantFrom('bus', 'module-port', 'air'),
      label: fc.string(),
      baud: fc.nat(),
      bitsPerCharacter: fc.constantFrom(8, 10, 11),
      parity: fc.constantFrom('none', 'even'),
      talkers: fc.array(fc.string(), { maxLength: 3 }),
      burstCount: fc.constant(n),
      startNs: times(n),
      talker: u8(n),
      firstOctet: u32(n),
      octetCount: u32(n),
      flags: u8(n),
      octets: fc.uint8Array({ maxLength: 40 }),
      heard: fc.array(fc.record({ atNs: time, octets: fc.uint8Array(), framingErrors: fc.nat() }, plain), {
        maxLength: 2,
      }),
    },
    plain,
  ),
)
const text = fc.string()
const one = <K extends SessionEvent['kind']>(
  kind: K,
  rest: { [F in keyof Omit<Extract<SessionEvent, { kind: K }>, 'kind'>]: fc.Arbitrary<unknown> },
) => fc.record({ kind: fc.constant(kind), ...rest }, plain) as unknown as fc.Arbitrary<SessionEvent>
/** One of each kind; a kind left out here does not pass the type check. */
const events: { [K in SessionEvent['kind']]: fc.Arbitrary<SessionEvent> } = {
  phase: one('phase', { phase: fc.constantFrom(...PHASES), attempt: fc.nat() }),
  progress: one('progress', { done: fc.nat(), total: fc.nat() }),
  note: one('note', { level: fc.constantFrom('info', 'good', 'caution', 'danger'), text }),
  retry: one('retry', { what: text, tries: fc.nat(), text }),
  'attempt-failed': one('attempt-failed', { attempt: fc.nat(), code: fc.constantFrom(...FAILURES), text }),
  fault: one('fault', { fault: text, text }),
  refused: one('refused', { by: fc.constantFrom('radio', 'module', 'receiver', 'card'), rule: text, text }),
  outcome: one('outcome', { outcome: fc.constantFrom(...OUTCOMES), text }),
}
const phase = fc.record(
  {
    id: fc.constantFrom(...PHASES),
    startNs: time,
    endNs: time,
    attempt: fc.nat(),
    ended: fc.constantFrom('done', 'failed', 'broken-off'),
  },
  plain,
)
const device = fc.constantFrom('radio', 'card', 'module', 'cable', 'air', 'receiver', 'supply', 'sensor')
const traces = fc.record(
  {
    endNs: time,
    lanes: fc.array(lane, { maxLength: 3 }),
    flash: counted(n =>
      fc.record(
        {
          ...{ count: fc.constant(n), startNs: times(n), endNs: times(n), kind: u8(n) },
          ...{ offset: u32(n), bytes: u32(n), torn: u8(n) },
        },
        plain,
      ),
    ),
    supply: counted(n =>
      fc.record({ count: fc.constant(n), atNs: times(n), volts: f32(n), milliamps: f32(n) }, plain),
    ),
    progress: counted(n =>
      fc.record(
        { count: fc.constant(n), atNs: times(n), done: times(n), total: times(n), phase: u16(n) },
        plain,
      ),
    ),
    phases: fc.array(phase, { maxLength: 3 }),
    devices: fc.array(fc.record({ atNs: time, device, state: text, alive: fc.boolean() }, plain)),
    events: fc.array(fc.record({ atNs: time, event: fc.oneof(...Object.values(events)) }, plain)),
  },
  plain,
) as fc.Arbitrary<Trace>

const sent = (trace: Trace) => {
  const message = encodeEnvelope({ id: 1, ok: true, reply: packTrace(trace) })
  const envelope = decodeEnvelope(message)
  if (!('reply' in envelope)) throw new Error('no reply')
  return packedTraceSchema.parse(envelope.reply)
}

describe('a packed trace', () => {
  it('is any trace again when it has crossed the contract, column by column', () =>
    fc.assert(
      fc.property(traces, trace => {
        expect(unpackTrace(sent(trace))).toEqual(trace)
      }),
      { numRuns: 200 },
    ))

  it('holds what the columns show, and not what lies around them in their buffers', () => {
    const [trace] = fc.sample(traces, 1)
    const buffer = Float64Array.of(-1, 10, 20, -1)
    const supply = {
      count: 2,
      atNs: buffer.subarray(1, 3),
      volts: Float32Array.of(9, 5, 4.5).subarray(1),
      milliamps: Float32Array.of(9, 100, 200).subarray(1),
    }
    const back = unpackTrace(sent({ ...trace, supply })).supply
    expect([...back.atNs]).toEqual([10, 20])
    expect([...back.volts]).toEqual([5, 4.5])
    expect([...back.milliamps]).toEqual([100, 200])
  })

  it('comes out of a message that lays its columns at any offset', () => {
    const [trace] = fc.sample(traces, 1)
    const packed = packTrace({ ...trace, progress: { ...trace.progress, done: Float64Array.of(1.5, 2.5) } })
    for (let offset = 0; offset < 9; offset++) {
      const buffer = new Uint8Array(32)
      buffer.set(packed.progress.done, offset)
      const moved = { ...packed.progress, done: buffer.subarray(offset, offset + 16) }
      expect([...unpackTrace({ ...packed, progress: moved }).progress.done]).toEqual([1.5, 2.5])
    }
  })

  it('has IEEE 754 doubles and whole numbers, the lowest octet first', () => {
    const [trace] = fc.sample(traces, 1)
    const flash = { ...trace.flash, startNs: Float64Array.of(1e9), offset: Uint32Array.of(0x0102_0304) }
    const packed = packTrace({ ...trace, flash }).flash
    const at = (octets: Uint8Array) => new DataView(octets.buffer, octets.byteOffset, octets.length)
    expect(at(packed.startNs).getFloat64(0, true)).toBe(1e9)
    expect([...packed.offset]).toEqual([4, 3, 2, 1])
  })
})

describe('the contract refuses a trace', () => {
  const [trace] = fc.sample(traces, 1)
  const packed = packTrace({ ...trace, lanes: fc.sample(lane, 1), phases: fc.sample(phase, 1) })
  const wrong: [string, unknown][] = [
    ['without its columns', { ...packed, flash: { count: 0 } }],
    ['with text for a column', { ...packed, supply: { ...packed.supply, volts: 'AAAA' } }],
    ['with a list of numbers for a column', { ...packed, supply: { ...packed.supply, volts: [0, 0, 0, 0] } }],
    ['with a line nobody knows', { ...packed, lanes: [{ ...packed.lanes[0], id: 'telephone' }] }],
    ['with a phase nobody knows', { ...packed, phases: [{ ...packed.phases[0], id: 'rest' }] }],
    ['with an event nobody knows', { ...packed, events: [{ atNs: 0, event: { kind: 'party' } }] }],
    ['with an event that lacks its words', { ...packed, events: [{ atNs: 0, event: { kind: 'fault' } }] }],
    ['with an end that is no number', { ...packed, endNs: Number.NaN }],
  ]
  it('but takes it as it is', () => expect(packedTraceSchema.safeParse(packed).success).toBe(true))
  it.each(wrong)('%s', (_what, value) => expect(packedTraceSchema.safeParse(value).success).toBe(false))
})
