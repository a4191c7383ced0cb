import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  decodeFrame,
  encodeFrame,
  FLAG,
  FrameDecoder,
  maxEncodedLength,
  type SpoiltReason,
} from '../../shared/wire/hdlc.ts'

const bodies = fc.uint8Array({ minLength: 2, maxLength: 80 })
/** Bodies in which flags, escapes and control characters are frequent. */
const nastyBodies = fc
  .array(fc.oneof(fc.constantFrom(0x7e, 0x7d, 0x5e, 0x5d, 0x11, 0x00), fc.nat(255)), {
    minLength: 2,
    maxLength: 80,
  })
  .map(octets => Uint8Array.from(octets))
const accms = fc.oneof(fc.constantFrom(0, 0xffffffff, 0x000a0000), fc.nat(0xffffffff))

function encode(body: Uint8Array, accm = 0): Uint8Array {
  const out = new Uint8Array(maxEncodedLength(body.length))
  return out.slice(0, encodeFrame(body, body.length, out, 0, accm))
}

interface Seen {
  frames: { body: Uint8Array; start: number; end: number }[]
  spoilt: { reason: SpoiltReason; start: number; end: number }[]
}

function decodeIn(pieces: readonly Uint8Array[], longest = 80, accm = 0): Seen & { decoder: FrameDecoder } {
  const seen: Seen = { frames: [], spoilt: [] }
  const decoder = new FrameDecoder(longest, accm)
  for (const piece of pieces)
    decoder.push(
      piece,
      0,
      piece.length,
      (body, length, start, end) => seen.frames.push({ body: body.slice(0, length), start, end }),
      (reason, start, end) => seen.spoilt.push({ reason, start, end }),
    )
  return { ...seen, decoder }
}

function cutUp(octets: Uint8Array, cuts: readonly number[]): Uint8Array[] {
  const at = [0, ...cuts.map(c => c % (octets.length + 1)), octets.length].sort((a, b) => a - b)
  return at.slice(1).map((to, i) => octets.subarray(at[i], to))
}

describe('round trip', () => {
  it('any body under any ACCM comes back', () => {
    fc.assert(
      fc.property(fc.oneof(bodies, nastyBodies), accms, (body, accm) => {
        const wire = encode(body, accm)
        expect(decodeFrame(wire)).toEqual({ ok: true, body, startIndex: 0, endIndex: wire.length })
      }),
    )
  })

  it('what must be escaped never stands on the wire, and the bound on the length holds', () => {
    fc.assert(
      fc.property(nastyBodies, accms, (body, accm) => {
        const wire = encode(body, accm)
        expect(wire.length).toBeLessThanOrEqual(maxEncodedLength(body.length))
        const inner = wire.subarray(1, -1)
        expect(inner.includes(FLAG)).toBe(false)
        for (const octet of inner) expect(octet < 0x20 && ((accm >>> octet) & 1) === 1).toBe(false)
      }),
    )
  })

  it('many frames in one stream, cut into any pieces', () => {
    fc.assert(
      fc.property(
        fc.array(nastyBodies, { minLength: 1, maxLength: 6 }),
        fc.array(fc.nat(2000), { maxLength: 12 }),
        fc.boolean(),
        (list, cuts, shareFlags) => {
          const wires = list.map(body => encode(body))
          const stream = Uint8Array.from(
            wires.flatMap((w, i) => [...(shareFlags && i > 0 ? w.subarray(1) : w)]),
          )
          const seen = decodeIn(cutUp(stream, cuts))
          expect(seen.frames.map(f => f.body)).toEqual(list)
          expect(seen.spoilt).toEqual([])
          expect(seen.decoder.position).toBe(stream.length)
          for (const f of seen.frames) expect([stream[f.start], stream[f.end - 1]]).toEqual([FLAG, FLAG])
        },
      ),
    )
  })
})

describe('damage', () => {
  it('one changed bit between the flags never yields the wrong body', () => {
    fc.assert(
      fc.property(nastyBodies, fc.nat(), fc.nat(7), (body, place, bit) => {
        const wire = encode(body)
        wire[1 + (place % (wire.length - 2))] ^= 1 << bit
        for (const frame of decodeIn([wire]).frames) expect(frame.body).toEqual(body)
        // A bit can make a flag out of an octet, and so one frame of two; none of them may pass as another body.
      }),
    )
  })

  it('the next frame is found after any rubbish', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), nastyBodies, (rubbish, body) => {
        const seen = decodeIn([rubbish, encode(body)])
        expect(seen.frames.at(-1)?.body).toEqual(body)
      }),
    )
  })

  it('every octet lies in a frame, in something spoilt, or is a flag', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom(0x7e, 0x7d, 0x01, 0xff, 0x55), { maxLength: 120 }), list => {
        const stream = Uint8Array.from([...list, FLAG])
        const { frames, spoilt } = decodeIn([stream], 10)
        const covered = new Set<number>()
        for (const { start, end } of [...frames, ...spoilt]) for (let i = start; i < end; i++) covered.add(i)
        stream.forEach((octet, i) => {
          if (!covered.has(i)) expect(octet).toBe(FLAG)
        })
      }),
    )
  })

  it('a body one octet too long is refused, the longest is taken', () => {
    const body = Uint8Array.from({ length: 10 }, (_, i) => i)
    expect(decodeIn([encode(body)], 10).frames).toHaveLength(1)
    expect(decodeIn([encode(body)], 9).spoilt.map(s => s.reason)).toEqual(['too-long'])
  })

  it('octets before the first flag are told, with their place', () => {
    const seen = decodeIn([Uint8Array.of(1, 2, 3), encode(Uint8Array.of(4, 5))])
    expect(seen.spoilt).toEqual([{ reason: 'no-flag', start: 0, end: 3 }])
    expect(seen.frames.map(f => f.start)).toEqual([3])
  })

  it('reset forgets half a frame', () => {
    const wire = encode(Uint8Array.of(1, 2, 3, 4))
    const decoder = new FrameDecoder(20)
    const ends: number[] = []
    decoder.push(wire, 0, 4, () => ends.push(-1))
    expect(decoder.insideFrame).toBe(true)
    decoder.reset(100)
    expect(decoder.insideFrame).toBe(false)
    decoder.push(wire, 0, wire.length, (_b, _l, _s, end) => ends.push(end))
    expect(ends).toEqual([100 + wire.length])
  })
})

describe('wrong use', () => {
  it('a body under two octets, or no room, is refused', () => {
    expect(() => encode(Uint8Array.of(1))).toThrow(RangeError)
    expect(() => encodeFrame(Uint8Array.of(1, 2), 2, new Uint8Array(5), 0)).toThrow(RangeError)
    expect(() => encodeFrame(Uint8Array.of(1, 2), 3, new Uint8Array(50), 0)).toThrow(RangeError)
    expect(() => new FrameDecoder(1)).toThrow(RangeError)
  })

  it('writes at the offset given and nowhere else', () => {
    const out = new Uint8Array(40).fill(0xaa)
    const length = encodeFrame(Uint8Array.of(1, 2), 2, out, 7)
    expect(out.subarray(0, 7).every(o => o === 0xaa)).toBe(true)
    expect(out.subarray(7 + length).every(o => o === 0xaa)).toBe(true)
    expect(decodeFrame(out.subarray(7, 7 + length)).ok).toBe(true)
  })
})
