import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  classIdOf,
  digestWords,
  toHex,
  uuidOctets,
  uuidText,
  uuidv5,
  vendorIdOf,
} from '../../shared/image/digest.ts'

describe('digest words', () => {
  it('tell any two pairs of octets apart', () => {
    const seen = new Set<string>()
    for (let n = 0; n < 65_536; n++) seen.add(digestWords(n.toString(16).padStart(4, '0'), 1))
    expect(seen.size).toBe(65_536)
  })

  it('are four words of small letters', () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 32, maxLength: 32 }), octets => {
        expect(digestWords(toHex(octets))).toMatch(/^[a-z]{4,6}(-[a-z]{4,6}){3}$/)
      }),
    )
    expect(digestWords('00ff10e5ab123456')).toMatchInlineSnapshot(`"bazol-dawan-rerdi-guken"`)
  })

  it('refuse what is no digest', () => {
    expect(() => digestWords('00ff', 4)).toThrow(RangeError)
    expect(() => digestWords('zz'.repeat(32))).toThrow(RangeError)
  })
})

describe('UUIDs', () => {
  it('text and octets are the same thing', () => {
    fc.assert(
      fc.property(fc.uuid(), uuid => {
        expect(uuidText(uuidOctets(uuid))).toBe(uuid)
      }),
    )
    expect(() => uuidOctets('2ed6657d-e927-568b-95e1')).toThrow(RangeError)
    expect(() => uuidv5('nothing', 'x')).toThrow(RangeError)
  })

  it('a class belongs to its vendor', () => {
    expect(vendorIdOf('Aldwick')).toBe(vendorIdOf('  ALDWICK '))
    expect(classIdOf('Aldwick', 'Wren 6')).toBe(uuidv5(vendorIdOf('Aldwick'), 'Wren 6'))
    expect(classIdOf('Aldwick', 'Wren 6')).not.toBe(classIdOf('Tamsin', 'Wren 6'))
  })
})
