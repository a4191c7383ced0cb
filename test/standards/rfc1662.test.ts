import { describe, expect, it } from 'vitest'
import { decodeFrame, encodeFrame, FrameDecoder, maxEncodedLength } from '../../shared/wire/hdlc.ts'

/** RFC 1662 (STD 51): sections 3.1, 4.1 to 4.3, appendix C. Worked octets: reference values, section 2.1. */
const octetsOf = (hex: string): Uint8Array =>
  Uint8Array.from(hex.split(' ').map(pair => Number.parseInt(pair, 16)))

function encode(body: Uint8Array, accm = 0): Uint8Array {
  const out = new Uint8Array(maxEncodedLength(body.length))
  return out.slice(0, encodeFrame(body, body.length, out, 0, accm))
}

const cases: [title: string, body: string, accm: number, wire: string][] = [
  ['configure request, ACCM 00000000', 'FF 03 C0 21 01 01 00 04', 0, '7E FF 03 C0 21 01 01 00 04 D1 B5 7E'],
  [
    'configure request, ACCM FFFFFFFF',
    'FF 03 C0 21 01 01 00 04',
    0xffffffff,
    '7E FF 7D 23 C0 21 7D 21 7D 21 7D 20 7D 24 D1 B5 7E',
  ],
  ['every special octet', '01 7E 7D 13 11 41 7E', 0, '7E 01 7D 5E 7D 5D 13 11 41 7D 5E E3 7A 7E'],
  [
    'only XON and XOFF escaped',
    '01 7E 7D 13 11 41 7E',
    0x000a0000,
    '7E 01 7D 5E 7D 5D 7D 33 7D 31 41 7D 5E E3 7A 7E',
  ],
  [
    'all control characters escaped',
    '01 7E 7D 13 11 41 7E',
    0xffffffff,
    '7E 7D 21 7D 5E 7D 5D 7D 33 7D 31 41 7D 5E E3 7A 7E',
  ],
]

describe('worked frames', () => {
  it.each(cases)('%s', (_title, body, accm, wire) => {
    expect(encode(octetsOf(body), accm)).toEqual(octetsOf(wire))
    expect(decodeFrame(octetsOf(wire))).toEqual({
      ok: true,
      body: octetsOf(body),
      startIndex: 0,
      endIndex: octetsOf(wire).length,
    })
  })
})

describe('section 3.1: flags', () => {
  it('one flag closes a frame and opens the next; empty frames are passed over', () => {
    const wire = octetsOf(
      '7E 7E FF 03 C0 21 01 01 00 04 D1 B5 7E FF 03 C0 21 01 01 00 04 D1 B5 7E 7E 7E 01 7D 5E 7D 5D 13 11 41 7D 5E E3 7A 7E',
    )
    const found: [number, number, number][] = []
    const spoilt: string[] = []
    new FrameDecoder(20).push(
      wire,
      0,
      wire.length,
      (_body, length, start, end) => found.push([length, start, end]),
      reason => spoilt.push(reason),
    )
    expect(found).toEqual([
      [8, 1, 13],
      [8, 12, 24],
      [7, 25, 39],
    ])
    expect(spoilt).toEqual([])
  })
})

describe('section 4.3: frames that are no frames', () => {
  it.each([
    ['aborted', '7E FF 03 C0 7D 7E'],
    ['too-short', '7E FF 03 C0 7E'],
    ['bad-fcs', '7E FF 03 C0 21 01 01 00 05 D1 B5 7E'],
    ['too-long', '7E FF 03 C0 21 01 01 00 04 05 06 D1 B5 7E'],
    ['no-flag', 'FF 03 C0 21 01 01 00 04 D1 B5 7E'],
    ['no-flag', '7E FF 03 C0 21 01 01 00 04 D1 B5'],
    ['no-flag', '7E 7E'],
  ])('%s: %s', (reason, wire) => {
    expect(decodeFrame(octetsOf(wire), 8)).toEqual({ ok: false, reason })
  })
})

describe('section 4.2: receive ACCM', () => {
  it('octets slipped in on the way are dropped before the FCS, escaped ones are kept', () => {
    const wire = octetsOf('7E 11 FF 7D 23 C0 13 21 7D 11 21 7D 21 7D 20 7D 24 D1 B5 7E')
    const found: Uint8Array[] = []
    new FrameDecoder(20, 0xffffffff).push(wire, 0, wire.length, (body, length) =>
      found.push(body.slice(0, length)),
    )
    expect(found).toEqual([octetsOf('FF 03 C0 21 01 01 00 04')])
    expect(decodeFrame(wire)).toEqual({ ok: false, reason: 'bad-fcs' })
  })
})
