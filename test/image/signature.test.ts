import { createPrivateKey, createPublicKey, sign, verify } from 'node:crypto'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { vendorIdOf } from '../../shared/image/digest.ts'
import {
  cardForDeclared,
  type ImageCard,
  readImageCard,
  writeImageCard,
} from '../../shared/image/image-card.ts'
import {
  isPublicKey,
  judgeSignature,
  publicKeyOf,
  readTrustedKeys,
  signCard,
  signedBytes,
  type TrustedKey,
} from '../../shared/image/signature.ts'

const SHA256 = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'
const card: ImageCard = {
  ...cardForDeclared({
    typeId: 'aldwick-wren-6',
    payloadFormat: 'raw',
    sizeBytes: 3,
    sha256: SHA256,
    crc32: 0x352441c2,
    programAddress: 0x08004000,
    vendorId: vendorIdOf('Aldwick'),
    version: '2.4.0',
  }),
  notes: 'Größer, "schneller"\n',
}
const secret = Uint8Array.from({ length: 32 }, (_, i) => i)
const key: TrustedKey = {
  keyId: 'aldwick-2026',
  maker: 'Aldwick',
  publicKey: publicKeyOf(secret),
  added: '2026-11-25T09:00:00Z',
}
const signed = signCard(card, key.keyId, secret)
const judge = (c: ImageCard, sha256 = SHA256, keys = [key]) => {
  const { verdict, problem } = judgeSignature(c, sha256, keys)
  return [verdict, problem?.code]
}

describe('the octets that are signed', () => {
  it('are the purpose, an octet 00, and the sorted card without its signature', () => {
    expect(new TextDecoder().decode(signedBytes(signed))).toBe(
      'Preflash image card, signature structure 1\0' +
        '{"bands":"unknown","classId":"unknown","crc32":891568578,"dependencies":{},' +
        '"generation":"unknown","hardwareRevisions":"unknown","notes":"Größer, \\"schneller\\"\\n",' +
        `"payloadFormat":"raw","programAddress":134234112,"region":"unknown","sequenceNumber":"unknown",` +
        `"sha256":"${SHA256}","sizeBytes":3,"structureVersion":1,"typeId":"aldwick-wren-6",` +
        `"vendorId":"${vendorIdOf('Aldwick')}","version":"2.4.0","wirelessCapable":"unknown"}`,
    )
  })

  it('do not depend on the order of the fields, nor on how the file is written', () => {
    const reordered = Object.fromEntries(Object.entries(signed).reverse())
    const read = readImageCard(JSON.stringify(reordered).replace(SHA256, SHA256.toUpperCase()), 'x')
    expect(read.ok && signedBytes(read.value)).toEqual(signedBytes(card))
  })
})

describe('the verdict', () => {
  it('good, also after the card was written and read', () => {
    const read = readImageCard(writeImageCard(signed), 'x')
    expect(read.ok && judge(read.value)).toEqual(['good', undefined])
    expect(judgeSignature(signed, SHA256, [key])).toEqual({ verdict: 'good', key })
  })

  it('missing, and by a key that is not trusted', () => {
    expect(judge(card)).toEqual(['missing', 'signature.missing'])
    expect(judge(signed, SHA256, [])).toEqual(['unknown-key', 'signature.unknown-key'])
  })

  it('bad for whatever field of the card was changed', () => {
    const fields: Partial<ImageCard>[] = [
      { version: '2.4.1' },
      { sequenceNumber: 7 },
      { sha256: SHA256.replace('b', 'a') },
      { programAddress: 0x08004004 },
      { wirelessCapable: true },
      { notes: undefined },
      { dependencies: { radioSystem: '*' } },
      { minBootVersion: '1.0.0' },
    ]
    for (const field of fields) expect(judge({ ...signed, ...field })).toEqual(['bad', 'signature.wrong'])
  })

  it('bad for whatever bit of the signature was changed', () => {
    fc.assert(
      fc.property(fc.nat(511), bit => {
        const octets = Buffer.from(signed.signature?.value ?? '', 'hex')
        octets[bit >> 3] ^= 1 << (bit & 7)
        const signature = { ...signed.signature, value: octets.toString('hex') } as ImageCard['signature']
        expect(judge({ ...signed, signature })).toEqual(['bad', 'signature.wrong'])
      }),
      { numRuns: 30 },
    )
  })

  it('bad for another image, another key, and a key of another maker', () => {
    expect(judge(signed, '0'.repeat(64))).toEqual(['bad', 'signature.other-image'])
    const other = { ...key, publicKey: publicKeyOf(new Uint8Array(32).fill(9)) }
    expect(judge(signed, SHA256, [other])).toEqual(['bad', 'signature.wrong'])
    expect(judge(signed, SHA256, [{ ...key, maker: 'Tamsin' }])).toEqual(['bad', 'signature.other-maker'])
    const nobodys = signCard({ ...card, vendorId: 'unknown' }, key.keyId, secret)
    expect(judge(nobodys)).toEqual(['bad', 'signature.other-maker'])
    const named = { ...key, maker: 'Somebody', vendorId: vendorIdOf('Aldwick') }
    expect(judge(signed, SHA256, [named])).toEqual(['good', undefined])
  })
})

/** Node's crypto is OpenSSL: another implementation. */
describe('against OpenSSL', () => {
  const pkcs8 = Buffer.concat([Buffer.from('302e020100300506032b657004220420', 'hex'), secret])
  const theirSecret = createPrivateKey({ key: pkcs8, format: 'der', type: 'pkcs8' })

  it('has the same public key, and each verifies what the other signed', () => {
    const der = createPublicKey(theirSecret).export({ format: 'der', type: 'spki' })
    expect(der.subarray(-32).toString('hex')).toBe(key.publicKey)
    const theirs = sign(null, signedBytes(card), theirSecret)
    expect(theirs.toString('hex')).toBe(signed.signature?.value)
    const ours = Buffer.from(signed.signature?.value ?? '', 'hex')
    expect(verify(null, signedBytes(card), createPublicKey(theirSecret), ours)).toBe(true)
  })
})

describe('trusted keys', () => {
  const read = (...keys: unknown[]) => readTrustedKeys(JSON.stringify(keys), 'keys.json')
  const problem = (result: ReturnType<typeof read>) => (result.ok ? undefined : result.problems[0])

  it('are read', () => {
    expect(read(key)).toMatchObject({ ok: true, value: [key] })
  })

  it.each([
    ['keyId', ''],
    ['publicKey', 'ab'],
    // Not on the curve, and the neutral element, which would verify anything (RFC 8032, section 5.1.3).
    ['publicKey', '02'.padEnd(64, '0')],
    ['publicKey', '01'.padEnd(64, '0')],
    ['added', 'yesterday'],
    ['surprise', 1],
  ])('with %s = %j are refused by name', (field, value) => {
    expect(problem(read({ ...key, [field]: value }))).toMatchObject({
      code: 'keys.field',
      file: 'keys.json',
      field: field === 'surprise' ? '[0]' : `[0].${field}`,
    })
  })

  it('of the same name are refused, and so is what is no list of keys', () => {
    expect(problem(read(key, key))).toMatchObject({ code: 'keys.field', field: '[1].keyId' })
    expect(problem(readTrustedKeys('[\n{', 'x'))).toMatchObject({ code: 'keys.not-json', line: 2 })
    expect(problem(readTrustedKeys(' '.repeat(200_001), 'x'))).toMatchObject({ code: 'keys.too-large' })
    expect(isPublicKey(key.publicKey)).toBe(true)
    expect(isPublicKey('zz')).toBe(false)
  })
})
