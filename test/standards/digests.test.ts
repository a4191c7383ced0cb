import { createHash } from 'node:crypto'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { NAMESPACE_DNS, sha256Hex, uuidv5 } from '../../shared/image/digest.ts'

const ascii = (text: string) => new TextEncoder().encode(text)

/** FIPS 180-4, NIST example values; reference values, section 10. */
describe('SHA-256', () => {
  it.each([
    ['abc', ascii('abc'), 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'],
    ['empty', ascii(''), 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855'],
    [
      '56 octets',
      ascii('abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq'),
      '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1',
    ],
    [
      'a million times a',
      new Uint8Array(1_000_000).fill(0x61),
      'cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0',
    ],
  ])('%s', (_title, octets, digest) => expect(sha256Hex(octets)).toBe(digest))

  it('agrees with OpenSSL', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), octets => {
        expect(sha256Hex(octets)).toBe(createHash('sha256').update(octets).digest('hex'))
      }),
    )
  })
})

/** RFC 9562, appendix A.4, and the scheme of RFC 9124 with the names of its examples; reference values, section 10. */
describe('version 5 UUID', () => {
  const vendor = '79c478c4-5690-5816-bae7-6463f2323bee'
  it.each([
    [NAMESPACE_DNS, 'www.example.com', '2ed6657d-e927-568b-95e1-2665a8aea6a2'],
    [NAMESPACE_DNS, 'vendor-a.com', vendor],
    [vendor, 'Product X', '0c3581b3-046a-55ac-b074-1235d0c94965'],
    [vendor, 'Product Y', '72ff6872-5ec2-551b-970b-6cb4d4c7caa9'],
    [vendor, 'common core', '542f0ca5-8198-5e06-ac8b-b49cbc65443a'],
  ])('%s, %s', (namespace, name, uuid) => expect(uuidv5(namespace, name)).toBe(uuid))
})
