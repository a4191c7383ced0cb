import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { baudOctets, readServer } from '../../shared/wire/com-port-option.ts'

describe('what a serial server says', () => {
  it('is never an error, whatever it is', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 20 }), octets => {
        expect(typeof readServer(octets).says).toBe('string')
      }),
    )
  })

  it('may have more octets after the rate than there should be, or fewer', () => {
    expect(readServer(Uint8Array.of(101, 0, 1, 0xc2, 0, 0, 0, 0, 0))).toEqual({
      says: 'confirmed',
      command: 1,
      value: 115_200,
    })
    expect(readServer(Uint8Array.of(101, 0, 1))).toMatchObject({ value: undefined })
  })
})

it('an octet 255 in a rate is doubled like any other', () => {
  expect([...baudOctets(0xff00)]).toEqual([255, 250, 44, 1, 0, 0, 255, 255, 0, 255, 240])
})
