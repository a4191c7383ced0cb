import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { buildImage } from '../../shared/image/build.ts'
import { inspectImage } from '../../shared/image/inspect.ts'
import {
  type Comparison,
  comparePayloads,
  LEAST_FILL_RUN,
  payloadKey,
  sayComparison,
} from '../../shared/image/same-payload.ts'
import type { Segment } from '../../shared/image/segments.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { writeSRecords } from '../../shared/image/write-s-record.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'

const spec = {
  typeId: 'aldwick-finch-4',
  typeName: 'Finch 4',
  vendorName: 'Aldwick',
  version: '1.2.0',
  sequenceNumber: 12,
  generation: 1,
  bands: ['2.4GHz' as const],
  region: 'lbt' as const,
  hardwareRevisions: ['A'],
  wirelessCapable: false,
  programAddress: 0x08002000,
  sizeBytes: 16_384,
  releaseNotes: '',
}
const built = buildImage(spec)
const image = built.segments[0].octets
const at = (octets: Uint8Array, address = 0x08002000): Segment[] => [{ address, octets }]
const text = (t: string) => new TextEncoder().encode(t)
const likeness = (a: Segment[], b: Segment[]) => {
  const forth = comparePayloads(a, b)
  const back = comparePayloads(b, a)
  expect(back.likeness).toBe(forth.likeness)
  expect(back.moved).toBe(forth.moved)
  if (forth.likeness !== 'different') expect(payloadKey(a)).toBe(payloadKey(b))
  return forth.moved ? `${forth.likeness}, moved` : forth.likeness
}

describe('the same image', () => {
  it('in every container', () => {
    const files = [
      image,
      text(writeIntelHex(at(image))),
      text(writeSRecords(at(image))),
      writeUf2(at(image), { familyId: 7 }),
    ]
    for (const file of files) {
      const read = inspectImage(file, 'x', { rawAddress: 0x08002000 })
      expect(read.ok && likeness([...read.value.segments], at(image))).toBe('same')
    }
    expect(likeness(at(image, 0), at(image))).toBe('moved, moved')
  })

  it('with a padded tail, of FF or of 00, with and without an address of its own', () => {
    for (const fill of [0xff, 0x00]) {
      const padded = new Uint8Array(32_768).fill(fill)
      padded.set(image)
      expect(likeness(at(image), at(padded))).toBe('padded')
      expect(likeness(at(image, 0), at(padded))).toBe('padded, moved')
    }
  })

  it('as a dump of the whole flash, erased before and after', () => {
    const dump = new Uint8Array(65_536).fill(0xff)
    dump.set(image, 0x2000)
    expect(likeness(at(image), at(dump, 0x08000000))).toBe('padded')
    expect(likeness(at(image), at(dump, 0))).toBe('padded, moved')
  })

  it('with gaps, where the other has fill', () => {
    const [one, two] = [image.slice(0, 4000), image.slice(8000)]
    const gap = [
      { address: 0x1000, octets: one },
      { address: 0x1000 + 8000, octets: two },
    ]
    for (const [fill, expected] of [
      [0xff, 'same'],
      [0x00, 'refilled'],
    ] as const) {
      const whole = new Uint8Array(8000 + two.length).fill(fill)
      whole.set(one)
      whole.set(two, 8000)
      expect(likeness(gap, at(whole, 0x1000))).toBe(expected)
    }
  })

  it('whatever octets stand on both sides of the fill', () => {
    const octet = fc.constantFrom(0x00, 0xff, 0x12, 0x34)
    fc.assert(
      fc.property(
        fc.array(octet, { minLength: 1, maxLength: 30 }),
        fc.integer({ min: LEAST_FILL_RUN, max: 60 }),
        fc.array(octet, { minLength: 1, maxLength: 30 }),
        (before, run, after) => {
          const filled = (fill: number) =>
            at(Uint8Array.from([0x55, ...before, ...new Uint8Array(run).fill(fill), ...after, 0x66]))
          expect(['same', 'refilled']).toContain(likeness(filled(0xff), filled(0x00)))
        },
      ),
    )
  })
})

describe('another image', () => {
  it('differs in one octet, in a short run of fill, or in its version', () => {
    const changed = image.slice()
    changed[5000] ^= 0x10
    expect(comparePayloads(at(image), at(changed))).toMatchObject({
      likeness: 'different',
      firstDifference: 5000,
    })
    const short = (fill: number) =>
      at(Uint8Array.from([1, ...new Uint8Array(LEAST_FILL_RUN - 1).fill(fill), 2]))
    expect(likeness(short(0), short(0xff))).toBe('different')
    expect(likeness(at(image), buildImage({ ...spec, version: '1.2.1' }).segments.slice())).toBe('different')
    expect(payloadKey(at(image))).not.toBe(payloadKey(at(changed)))
  })

  it('goes on with data where the first ends', () => {
    expect(likeness(at(image.subarray(0, 8000)), at(image))).toBe('different')
  })

  it('is no image at all, or one of pieces that lie too far apart', () => {
    expect(comparePayloads([], at(image)).likeness).toBe('different')
    const apart = [...at(image, 0), ...at(image, 0x1000_0000)]
    expect(likeness(apart, apart)).toBe('same')
    expect(comparePayloads(apart, at(image, 0)).likeness).toBe('different')
  })

  it('one changed octet of data is always found', () => {
    fc.assert(
      fc.property(fc.nat(image.length - 1), fc.integer({ min: 1, max: 254 }), (place, value) => {
        const changed = image.slice()
        fc.pre(changed[place] !== value)
        changed[place] = value
        expect(comparePayloads(at(image), at(changed)).likeness).toBe('different')
      }),
      { numRuns: 50 },
    )
  })
})

it('the comparison is said in a sentence', () => {
  const say = (likeness: Comparison['likeness'], moved = false) =>
    sayComparison({ likeness, moved, differing: 12 })
  expect(say('same')).toBe('The same image.')
  expect(say('moved', true)).toContain('another address')
  expect(say('padded')).toBe('The same image, with 12 octets of padding more or fewer.')
  expect(say('refilled', true)).toContain('for another address; 12 octets')
  expect(say('different')).toBe('Another image.')
})
