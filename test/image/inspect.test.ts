import { createHash } from 'node:crypto'
import { crc32 as zlibCrc32 } from 'node:zlib'
import { describe, expect, it } from 'vitest'
import { buildImage } from '../../shared/image/build.ts'
import { IDENTITY_OFFSET } from '../../shared/image/identity-block.ts'
import { inspectImage, inspectSegments, partInFlash, payloadDigest } from '../../shared/image/inspect.ts'
import type { Segment } from '../../shared/image/segments.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'

const ascii = (text: string) => new TextEncoder().encode(text)
const sha256 = (octets: Uint8Array) => createHash('sha256').update(octets).digest('hex')
const about = { format: 'intel-hex' as const, fileName: 'x.hex', fileBytes: 1 }

const built = buildImage({
  typeId: 'aldwick-finch-4',
  typeName: 'Finch 4',
  vendorName: 'Aldwick',
  version: '1.2.0',
  sequenceNumber: 12,
  generation: 1,
  bands: ['2.4GHz'],
  region: 'lbt',
  hardwareRevisions: ['A'],
  wirelessCapable: false,
  programAddress: 0x08002000,
  sizeBytes: 4096,
  releaseNotes: '',
})

function inspected(octets: Uint8Array, rawAddress = 0) {
  const result = inspectImage(octets, 'finch.bin', { rawAddress })
  if (!result.ok) throw new Error(JSON.stringify(result.problems))
  return result.value
}

describe('an image by either way in', () => {
  it('raw and Intel HEX of the same octets have the same digests and identity', () => {
    const raw = inspected(built.segments[0].octets, 0x08002000)
    const hex = inspected(ascii(writeIntelHex(built.segments, { startLinear: 0x08002301 })))
    expect(raw.format).toBe('raw')
    expect(hex).toMatchObject({ format: 'intel-hex', startAddress: 0x08002301, problems: [] })
    for (const key of [
      'sha256',
      'crc32',
      'embedded',
      'lowestAddress',
      'highestAddress',
      'payloadBytes',
    ] as const)
      expect(hex[key]).toEqual(raw[key])
    expect(raw.embedded?.version).toBe('1.2.0')
    expect(raw.sha256).toBe(built.card.sha256)
  })

  it('finds the identity where the file has gaps before it', () => {
    const octets = built.segments[0].octets
    const pieces = [
      { address: 0x08002000, octets: octets.subarray(0, 0x80) },
      { address: 0x08002000 + IDENTITY_OFFSET, octets: octets.subarray(IDENTITY_OFFSET) },
    ]
    expect(inspected(ascii(writeIntelHex(pieces))).embedded?.version).toBe('1.2.0')
  })

  it('says that the identity block is damaged, and reads the rest', () => {
    const octets = built.segments[0].octets.slice()
    octets[IDENTITY_OFFSET + 20] ^= 1
    const image = inspected(octets)
    expect(image.embedded).toBeUndefined()
    expect(image.problems).toMatchObject([{ code: 'identity.damaged', file: 'finch.bin' }])
  })

  it('passes on what is wrong with a file', () => {
    const codeOf = (octets: Uint8Array, rawAddress = 0) => {
      const result = inspectImage(octets, 'x', { rawAddress })
      return result.ok ? undefined : result.problems[0].code
    }
    expect(codeOf(new Uint8Array(0))).toBe('format.empty')
    expect(codeOf(ascii(':0300300002337A1F\n:00000001FF\n'))).toBe('hex.checksum')
    expect(codeOf(Uint8Array.of(1, 2), 0xffff_ffff)).toBe('raw.address')
    const nothing = inspectSegments([], about)
    expect(nothing.ok ? undefined : nothing.problems[0].code).toBe('image.empty')
  })
})

describe('digests', () => {
  it('are over the octets from lowest to highest address, gaps filled with FF', () => {
    const segments = [
      { address: 10, octets: Uint8Array.of(1, 2) },
      { address: 14, octets: Uint8Array.of(3) },
    ]
    const payload = Uint8Array.of(1, 2, 0xff, 0xff, 3)
    expect(payloadDigest(segments)).toEqual({ sha256: sha256(payload), crc32: zlibCrc32(payload) })
  })

  it('of pieces too far apart are over the pieces', () => {
    const segments = [
      { address: 0, octets: Uint8Array.of(1, 2) },
      { address: 0xf000_0000, octets: Uint8Array.of(3) },
    ]
    expect(payloadDigest(segments).sha256).toBe(sha256(Uint8Array.of(1, 2, 3)))
  })
})

describe('what lies outside program flash', () => {
  const segments: Segment[] = [
    { address: 0x1000, octets: new Uint8Array(16).fill(1) },
    { address: 0x1000_10c0, octets: new Uint8Array(28).fill(2) },
  ]
  const whole = inspectSegments(segments, about)
  if (!whole.ok) throw new Error('not inspected')
  const image = whole.value

  it('is told, and the rest is inspected anew', () => {
    expect(image.problems.map(p => p.code)).toEqual(['image.far-apart'])
    const { inside, outside, problem } = partInFlash(image, 0x1000, 0x1000)
    expect(outside).toEqual([segments[1]])
    expect(problem).toMatchObject({ code: 'image.outside', file: 'x.hex' })
    expect(problem?.message).toContain('28 octets at 0x100010C0')
    expect(problem?.expected).toBe('addresses 0x1000 to 0x1FFF')
    expect(inside).toMatchObject({
      payloadBytes: 16,
      highestAddress: 0x100f,
      sha256: sha256(new Uint8Array(16).fill(1)),
      problems: [],
    })
  })

  it('cuts a piece that reaches over the end', () => {
    const { inside, outside } = partInFlash(image, 0x1000, 8)
    expect(inside?.payloadBytes).toBe(8)
    expect(outside.map(s => s.octets.length)).toEqual([8, 28])
  })

  it('leaves an image alone that fits, and has no inside where nothing does', () => {
    const fits = partInFlash(image, 0, 2 ** 32)
    expect(fits).toEqual({ inside: image, outside: [] })
    expect(partInFlash(image, 0x4000, 0x1000).inside).toBeUndefined()
  })
})
