import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { writeCode } from '../../shared/image/program-code.ts'

const spec = { version: [2, 4, 0], typeHash: 12 }

describe('code', () => {
  it('fills its place and nothing else, and says where functions begin', () => {
    fc.assert(
      fc.property(fc.nat(100), fc.integer({ min: 2, max: 4000 }), (from, length) => {
        const octets = new Uint8Array(from + length + 50).fill(0xee)
        const entries = writeCode(octets, from, from + length, spec)
        expect(octets.subarray(0, from).every(o => o === 0xee)).toBe(true)
        expect(octets.subarray(from + length).every(o => o === 0xee)).toBe(true)
        expect(entries[0]).toBe(from)
        entries.forEach((at, f) => {
          // Every function begins by pushing its own number.
          expect([octets[at], octets[at + 1]]).toEqual([0xd0, f])
          if (f > 0) expect((at - from) % 4).toBe(0)
        })
      }),
    )
  })

  it('gives 63 entries where there is room for them', () => {
    expect(writeCode(new Uint8Array(8192), 0, 8192, spec)).toHaveLength(63)
  })
})
