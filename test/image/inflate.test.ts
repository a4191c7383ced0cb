import { constants, deflateRawSync, inflateRawSync } from 'node:zlib'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { inflateInto } from '../../shared/image/inflate.ts'

/** Against zlib, which Node has, for RFC 1951; and against the RFC's own words where an archive may be made to deceive. */
const octets = (...parts: (string | number[])[]) =>
  Uint8Array.from(parts.flatMap(p => (typeof p === 'string' ? [...Buffer.from(p, 'latin1')] : p)))
const unpack = (packed: Uint8Array, bytes: number) => {
  const out = new Uint8Array(bytes)
  return { ...inflateInto(packed, out), out }
}
const pack = (content: Uint8Array, options = {}) => new Uint8Array(deflateRawSync(content, options))
const noise = (count: number) => Uint8Array.from({ length: count }, (_, i) => (i * i * 2654435761) >>> 13)
const text = (count: number) => Uint8Array.from({ length: count }, (_, i) => 48 + (((i * 7919) >>> 3) % 10))

describe('DEFLATE', () => {
  it.each([
    ['nothing', new Uint8Array(0)],
    ['one octet', octets([7])],
    ['one octet many times', new Uint8Array(300_000).fill(65)],
    ['text', text(200_000)],
    ['what cannot be packed', noise(200_000)],
    ['both', octets('a'.repeat(70_000), [...noise(70_000)], 'abcabc'.repeat(9000))],
  ])('unpacks what zlib has packed: %s', (_, content) => {
    for (const level of [0, 1, 6, 9])
      for (const strategy of [constants.Z_DEFAULT_STRATEGY, constants.Z_FIXED, constants.Z_HUFFMAN_ONLY]) {
        const { length, fault, out } = unpack(pack(content, { level, strategy }), content.length)
        expect([length, fault]).toEqual([content.length, undefined])
        expect(Buffer.from(out).equals(Buffer.from(content))).toBe(true)
      }
  })

  it('never writes more than it should, and says so', () => {
    for (const level of [0, 9]) {
      const packed = pack(new Uint8Array(100_000).fill(1), { level })
      expect(unpack(packed, 99_999)).toMatchObject({ fault: 'more' })
      expect(unpack(packed, 100_001)).toMatchObject({ length: 100_000 })
    }
  })

  it('finds an end that is missing, and what comes after it', () => {
    const content = text(5000)
    const packed = pack(content)
    for (const cut of [1, 2, packed.length >> 1, packed.length - 1])
      expect(unpack(packed.subarray(0, packed.length - cut), 5000).fault).toBe('cut-off')
    expect(unpack(octets([...packed], [0]), 5000).fault).toBe('rest')
    expect(unpack(new Uint8Array(0), 0).fault).toBe('cut-off')
  })

  it.each([
    ['a block of type 3 (3.2.3)', [0b111]],
    ['a stored block whose length is not repeated inverted (3.2.4)', [1, 5, 0, 5, 0]],
    ['a distance before the beginning (3.2.5)', [0b0000_0011, 0b0000_0010, 0]],
    ['287 literal codes (3.2.7)', [0b1111_0101, 0, 0, 0, 0]],
    ['31 distance codes (3.2.7)', [0b0000_0101, 0b0001_1110, 0, 0]],
    ['repeating the length before the first (3.2.7)', [0b0000_0101, 0b0000_0000, 0b0000_0010, 0, 0, 0, 0, 0]],
  ])('refuses %s', (_, data) => {
    expect(unpack(Uint8Array.from(data), 1000).fault).toMatch(/broken|cut-off/)
  })

  it('agrees with zlib on damaged data: the same octets, or a fault', () => {
    const packed = pack(octets('a'.repeat(200), [...noise(300)], 'abc'.repeat(100)))
    fc.assert(
      fc.property(fc.nat(packed.length - 1), fc.nat(255), (at, value) => {
        const damaged = packed.slice()
        damaged[at] = value
        let expected: Buffer | undefined
        try {
          expected = inflateRawSync(damaged, { maxOutputLength: 4096 })
        } catch {
          expected = undefined
        }
        const { length, fault, out } = unpack(damaged, 4096)
        if (expected === undefined) expect(fault).toBeDefined()
        else expect(Buffer.from(out.subarray(0, length)).equals(expected)).toBe(true)
      }),
      { numRuns: 2000, seed: 1951 },
    )
  })
})
