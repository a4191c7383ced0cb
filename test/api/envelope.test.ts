import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Envelope } from '../../shared/api/envelope.ts'
import {
  decodeEnvelope,
  encodeEnvelope,
  isCall,
  isEvent,
  isReply,
  MAX_MESSAGE_BYTES,
} from '../../shared/api/envelope.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { sendable } from './sendable.ts'

const id = fc.nat()
const name = fc.string({ minLength: 1, maxLength: 50 })
const plain = { noNullPrototype: true } as const
const envelope: fc.Arbitrary<Envelope> = fc.oneof(
  fc.record({ id, method: name, request: sendable }, plain),
  fc.record({ id, ok: fc.constant(true as const), reply: sendable }, plain),
  fc.record(
    {
      id,
      ok: fc.constant(false as const),
      problems: fc.array(fc.record({ code: name, message: fc.string() }, plain), {
        minLength: 1,
        maxLength: 3,
      }),
    },
    plain,
  ),
  fc.record({ event: name, data: sendable }, plain),
)

/** A message put together by hand, as a hostile peer would. */
function message(header: string, parts: Uint8Array = new Uint8Array(0), headerLength?: number, version = 1) {
  const text = new TextEncoder().encode(header)
  const octets = new Uint8Array(5 + text.length + parts.length)
  octets[0] = version
  new DataView(octets.buffer).setUint32(1, headerLength ?? text.length)
  octets.set(text, 5)
  octets.set(parts, 5 + text.length)
  return octets
}

/** Decoding must end in an envelope or a ProblemError, whatever comes in. */
function codeOf(octets: Uint8Array): string {
  try {
    decodeEnvelope(octets)
    return 'decoded'
  } catch (error) {
    if (error instanceof ProblemError) return error.problem.code
    throw error
  }
}

describe('envelopes', () => {
  it('come back as they were', () => {
    fc.assert(
      fc.property(envelope, sent => {
        expect(decodeEnvelope(encodeEnvelope(sent))).toStrictEqual(sent)
      }),
    )
  })

  it('carry octets as they are: a megabyte costs less than 200 octets more', () => {
    const packed = encodeEnvelope({
      id: 1,
      method: 'image.read',
      request: { bytes: new Uint8Array(1_000_000) },
    })
    expect(packed.length).toBeLessThan(1_000_200)
  })

  it('are copied out of the receive buffer', () => {
    const packed = encodeEnvelope({ event: 'a.b', data: new Uint8Array([1, 2, 3]) })
    const read = decodeEnvelope(packed)
    packed.fill(0)
    expect(isEvent(read) && read.data).toEqual(new Uint8Array([1, 2, 3]))
  })

  it('are read from the middle of a larger buffer', () => {
    const packed = encodeEnvelope({ id: 7, method: 'a.b', request: null })
    const larger = new Uint8Array(packed.length + 20)
    larger.set(packed, 10)
    expect(decodeEnvelope(larger.subarray(10, 10 + packed.length))).toEqual({
      id: 7,
      method: 'a.b',
      request: null,
    })
  })

  it('are told apart', () => {
    expect(isCall({ id: 1, method: 'a.b', request: 0 })).toBe(true)
    expect(isReply({ id: 1, ok: true, reply: 0 })).toBe(true)
    expect(isEvent({ event: 'a.b', data: 0 })).toBe(true)
    expect(isCall({ id: 1, ok: true, reply: 0 })).toBe(false)
  })

  it('over 64 MiB are neither packed nor unpacked', () => {
    const bytes = new Uint8Array(MAX_MESSAGE_BYTES)
    expect(() => encodeEnvelope({ event: 'a.b', data: bytes })).toThrow('too long')
    expect(codeOf(new Uint8Array(MAX_MESSAGE_BYTES + 1))).toBe('envelope.size')
  })
})

describe('a malformed message', () => {
  const body = '{"event":"a.b","data":null}'

  it.each([
    ['nothing', new Uint8Array(0)],
    ['another version', message(`{"lengths":[],"body":${body}}`, undefined, undefined, 2)],
    ['a header longer than the message', message(`{"lengths":[],"body":${body}}`, undefined, 1_000)],
    ['a header of four thousand million octets', message('{}', undefined, 0xffffffff)],
    ['no JSON', message('{"lengths":')],
    ['broken UTF-8', new Uint8Array([1, 0, 0, 0, 1, 0xff])],
    ['no lengths', message(`{"body":${body}}`)],
    ['a negative length', message(`{"lengths":[-1],"body":${body}}`)],
    ['a fraction of an octet', message(`{"lengths":[0.5],"body":${body}}`)],
    [
      'a part longer than the message',
      message(`{"lengths":[9],"body":{"event":"a.b","data":{"$octets":0}}}`),
    ],
    ['octets after the last part', message(`{"lengths":[],"body":${body}}`, new Uint8Array(1))],
    ['octets that nothing names', message(`{"lengths":[1],"body":${body}}`, new Uint8Array(1))],
    ['no known kind', message('{"lengths":[],"body":{"id":1}}')],
    ['two kinds at once', message('{"lengths":[],"body":{"id":1,"ok":true,"reply":1,"method":"a.b"}}')],
    ['a refusal without a reason', message('{"lengths":[],"body":{"id":1,"ok":false,"problems":[]}}')],
  ])('with %s is refused', (_what, octets) => {
    expect(codeOf(octets)).toBe('envelope.malformed')
  })

  it('never does more than be refused: random octets', () => {
    fc.assert(fc.property(fc.uint8Array({ maxLength: 200 }), octets => void codeOf(octets)))
  })

  it('never does more than be refused: good messages with a few octets changed or cut off', () => {
    const damage = fc.record({
      envelope,
      at: fc.double({ min: 0, max: 1, maxExcluded: true, noNaN: true }),
      value: fc.nat(255),
      keep: fc.double({ min: 0, max: 1, noNaN: true }),
    })
    fc.assert(
      fc.property(damage, ({ envelope: sent, at, value, keep }) => {
        const octets = encodeEnvelope(sent)
        octets[Math.floor(at * octets.length)] = value
        codeOf(octets)
        codeOf(octets.subarray(0, Math.floor(keep * octets.length)))
      }),
    )
  })

  it('that is cut anywhere is refused', () => {
    fc.assert(
      fc.property(envelope, fc.nat(), (sent, cut) => {
        const octets = encodeEnvelope(sent)
        expect(codeOf(octets.subarray(0, cut % octets.length))).toBe('envelope.malformed')
      }),
    )
  })
})
