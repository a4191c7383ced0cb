import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { fromBase64, toBase64 } from '../../shared/bench-run/base64.ts'

describe('base64', () => {
  // RFC 4648, section 10, test vectors.
  it.each([
    ['', ''],
    ['f', 'Zg=='],
    ['fo', 'Zm8='],
    ['foo', 'Zm9v'],
    ['foob', 'Zm9vYg=='],
    ['fooba', 'Zm9vYmE='],
    ['foobar', 'Zm9vYmFy'],
  ])('of "%s" is "%s"', (text, coded) => {
    const octets = new TextEncoder().encode(text)
    expect(toBase64(octets)).toBe(coded)
    expect(fromBase64(coded)).toEqual(octets)
  })

  it('gives back any octets, as Node reads them too', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 400 }), octets => {
        expect(toBase64(octets)).toBe(Buffer.from(octets).toString('base64'))
        expect(fromBase64(toBase64(octets))).toEqual(octets)
      }),
    )
  })

  it('reads nothing out of a text that is not base64', () => {
    for (const text of ['Zg=', 'Zg', 'Z===', '=Zg=', 'Zm9v!', 'Zm 9'])
      expect(fromBase64(text)).toBeUndefined()
  })
})
