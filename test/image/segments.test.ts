import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  flatten,
  gaps,
  mergeSegments,
  overlaps,
  payloadBytesOf,
  type Segment,
  sayAddress,
  spanOf,
  splitByRange,
} from '../../shared/image/segments.ts'

const segment = (address: number, ...octets: number[]): Segment => ({
  address,
  octets: Uint8Array.from(octets),
})
const anySegments = fc.array(fc.record({ address: fc.nat(200), octets: fc.uint8Array({ maxLength: 40 }) }), {
  maxLength: 8,
})

/** The memory as a map from address to octet, the last segment winning. */
const memoryOf = (segments: readonly Segment[]): Map<number, number> =>
  new Map(segments.flatMap(s => [...s.octets].map((octet, i): [number, number] => [s.address + i, octet])))
const sorted = (map: Map<number, number>) => [...map].sort((a, b) => a[0] - b[0])

describe('merging', () => {
  it('keeps every octet, leaves no two touching, or names the conflict', () => {
    fc.assert(
      fc.property(anySegments, segments => {
        const memory = memoryOf(segments)
        const conflict = segments.some(s => [...s.octets].some((o, i) => memory.get(s.address + i) !== o))
        const result = mergeSegments(segments)
        expect(result.ok).toBe(!conflict)
        if (!result.ok) {
          expect(result.problems[0].code).toBe('image.conflict')
          return
        }
        expect(sorted(memoryOf(result.value))).toEqual(sorted(memory))
        expect(payloadBytesOf(result.value)).toBe(memory.size)
        result.value.slice(1).forEach((s, i) => {
          expect(s.address).toBeGreaterThan(result.value[i].address + result.value[i].octets.length)
        })
      }),
    )
  })

  it('joins pieces of one memory however they overlap', () => {
    const memory = Uint8Array.from({ length: 100 }, (_, i) => i)
    const pieces = fc.array(fc.tuple(fc.nat(99), fc.integer({ min: 1, max: 40 })), { maxLength: 12 })
    fc.assert(
      fc.property(pieces, list => {
        const segments = list.map(([address, length]) => ({
          address,
          octets: memory.slice(address, address + length),
        }))
        const result = mergeSegments(segments)
        expect(result.ok).toBe(true)
        if (!result.ok) return
        expect(sorted(memoryOf(result.value))).toEqual(sorted(memoryOf(segments)))
        expect(payloadBytesOf(result.value)).toBe(memoryOf(segments).size)
        expect(gaps(result.value)).toHaveLength(Math.max(0, result.value.length - 1))
      }),
    )
  })

  it('finds overlaps with their range', () => {
    expect(overlaps([segment(10, 1, 2, 3, 4), segment(12, 3, 9)])).toEqual([
      { from: 12, to: 14, same: false },
    ])
    expect(overlaps([segment(10, 1, 2, 3, 4), segment(12, 3, 4, 5)])).toEqual([
      { from: 12, to: 14, same: true },
    ])
    expect(overlaps([segment(10, 1, 2), segment(12, 3)])).toEqual([])
  })
})

describe('gaps and span', () => {
  it('octets and gaps fill the span without remainder', () => {
    fc.assert(
      fc.property(anySegments, segments => {
        const span = spanOf(segments)
        const memory = memoryOf(segments)
        if (span === undefined) {
          expect(memory.size).toBe(0)
          return
        }
        expect([span.from, span.to - 1]).toEqual([Math.min(...memory.keys()), Math.max(...memory.keys())])
        const holes = gaps(segments)
        expect(holes.reduce((sum, g) => sum + g.bytes, memory.size)).toBe(span.to - span.from)
        for (const hole of holes)
          for (let at = hole.address; at < hole.address + hole.bytes; at++) expect(memory.has(at)).toBe(false)
      }),
    )
  })
})

describe('flattening', () => {
  it('fills what no segment covers', () => {
    expect(flatten([segment(4, 1), segment(6, 2)], 3, 5)).toEqual(Uint8Array.of(0xff, 1, 0xff, 2, 0xff))
    expect(flatten([segment(4, 1)], 3, 3, 0)).toEqual(Uint8Array.of(0, 1, 0))
  })
  it('refuses what lies outside rather than losing it', () => {
    expect(() => flatten([segment(2, 1, 2)], 3, 5)).toThrow(RangeError)
    expect(() => flatten([segment(7, 1, 2)], 3, 5)).toThrow(RangeError)
  })
})

describe('splitting at a range', () => {
  it('loses nothing and puts everything on its side', () => {
    fc.assert(
      fc.property(anySegments, fc.nat(260), fc.nat(260), (segments, a, b) => {
        const [from, to] = [Math.min(a, b), Math.max(a, b)]
        const { inside, outside } = splitByRange(segments, from, to)
        for (const s of inside) {
          expect(s.address).toBeGreaterThanOrEqual(from)
          expect(s.address + s.octets.length).toBeLessThanOrEqual(to)
        }
        for (const s of outside) expect(s.address + s.octets.length <= from || s.address >= to).toBe(true)
        expect(payloadBytesOf([...inside, ...outside])).toBe(payloadBytesOf(segments))
        expect(new Set(memoryOf([...inside, ...outside]).keys())).toEqual(new Set(memoryOf(segments).keys()))
      }),
    )
  })

  it('cuts a segment that reaches over both ends', () => {
    expect(splitByRange([segment(10, 1, 2, 3, 4)], 11, 13)).toEqual({
      inside: [segment(11, 2, 3)],
      outside: [segment(10, 1), segment(13, 4)],
    })
  })
})

it('says addresses as people write them', () => {
  expect([0, 0x200, 0x08004000].map(sayAddress)).toEqual(['0x0000', '0x0200', '0x08004000'])
})
