import { randomBytes } from 'node:crypto'
import { deflateRawSync } from 'node:zlib'
import { zipSync } from 'fflate'
import { describe, expect, it } from 'vitest'
import { buildImage } from '../../shared/image/build.ts'
import { writeImageCard } from '../../shared/image/image-card.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'
import { readZip, type ZipEntry } from '../../shared/image/zip.ts'
import {
  MAX_ZIP_FILE_BYTES,
  MAX_ZIP_INFLATED_BYTES,
  MOST_ZIP_ENTRIES,
  packedOctets,
  readZipDirectory,
} from '../../shared/image/zip-directory.ts'
import { MAX_ZIP_ENTRY_BYTES, unpack } from '../../shared/image/zip-inflate.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import { makeZip, type ZipPart } from '../support/zip.ts'

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
const hex = writeIntelHex(built.segments)
const cardText = writeImageCard(built.card)

function entries(zip: Uint8Array): ZipEntry[] {
  const result = readZip(zip, 'club.zip', { rawAddress: 0x08002000 })
  if (!result.ok) throw new Error(JSON.stringify(result.problems))
  return [...result.value]
}
const outcome = (zip: Uint8Array) => entries(zip).map(e => [e.name, e.kind, ...e.problems.map(p => p.code)])
const one = (part: Partial<ZipPart>) =>
  outcome(makeZip([{ name: 'a.hex', content: hex, ...part }]))[0].slice(1)
const refusal = (zip: Uint8Array) => {
  const result = readZip(zip, 'club.zip', { rawAddress: 0 })
  return result.ok ? undefined : result.problems[0]
}

describe('an archive', () => {
  it('gives images of every format with their cards, and says what the rest is', () => {
    const zip = makeZip([
      { name: 'finch/', content: '', stored: true },
      { name: 'finch/1.2.0.hex.card.json', content: cardText },
      { name: 'finch/1.2.0.hex', content: hex },
      { name: 'finch/Größe.uf2', content: writeUf2(built.segments), stored: true },
      { name: 'finch/1.2.0.bin', content: built.segments[0].octets },
      {
        name: 'readme.txt',
        content: 'These are the images for the Finch 4, and how to bring them onto it.\n'.repeat(2),
      },
      { name: 'other.bin.card.json', content: cardText },
      { name: '__MACOSX/finch/._1.2.0.hex', content: 'x' },
      { name: 'Thumbs.db', content: 'x' },
    ])
    expect(outcome(zip)).toEqual([
      ['finch/1.2.0.hex', 'image'],
      ['finch/Größe.uf2', 'image'],
      ['finch/1.2.0.bin', 'image'],
      ['readme.txt', 'other', 'format.text'],
      ['other.bin.card.json', 'card', 'zip.no-image'],
      ['__MACOSX/finch/._1.2.0.hex', 'other', 'zip.junk'],
      ['Thumbs.db', 'other', 'zip.junk'],
    ])
    const [first, second, third, , orphan] = entries(zip)
    expect(first.card).toEqual(built.card)
    expect(first.cardText).toBe(cardText)
    expect(first.octets).toEqual(new TextEncoder().encode(hex))
    expect([first, second, third].map(e => [e.image?.format, e.image?.sha256])).toEqual([
      ['intel-hex', built.card.sha256],
      ['uf2', built.card.sha256],
      ['raw', built.card.sha256],
    ])
    expect(orphan.card).toEqual(built.card)
  })

  it('written by another program', () => {
    const octets = new TextEncoder().encode(hex)
    const zip = zipSync({ 'finch.hex': octets, 'raw.bin': [built.segments[0].octets, { level: 0 }] })
    expect(outcome(zip)).toEqual([
      ['finch.hex', 'image'],
      ['raw.bin', 'image'],
    ])
    const result = readZipDirectory(zip, 'x')
    const [file] = result.ok ? result.value : []
    expect(file).toMatchObject({ name: 'finch.hex', method: 8, bytes: octets.length })
    expect(unpack(zip, file)).toEqual(octets)
    expect(packedOctets(zip, file)).toHaveLength(file.packedBytes)
  })

  it('is unpacked only as far as it is asked for', () => {
    const zip = makeZip([
      { name: 'a.hex', content: hex },
      { name: 'b.hex', content: hex },
    ])
    const result = readZip(zip, 'x', { rawAddress: 0 })
    if (!result.ok) throw new Error('no')
    for (const entry of result.value) {
      expect(entry.name).toBe('a.hex')
      break
    }
  })
})

describe('one damaged file does not spoil the others', () => {
  const parts = (damaged: Partial<ZipPart>): ZipPart[] => [
    { name: 'a.hex', content: hex },
    { name: 'b.hex', content: hex, ...damaged },
    { name: 'c.hex', content: hex },
  ]

  it('whose text is damaged: with the line', () => {
    const zip = makeZip(parts({ content: hex.replace('\n:', '\n;') }))
    expect(outcome(zip)).toEqual([
      ['a.hex', 'image'],
      ['b.hex', 'other', 'hex.start'],
      ['c.hex', 'image'],
    ])
    expect(sayProblem(entries(zip)[1].problems[0])).toMatch(/^b\.hex in club\.zip, line 2: /)
  })

  it.each<[string, Partial<ZipPart>]>([
    ['zip.crc', { crc: 7 }],
    ['zip.crc', { crc: 7, stored: true }],
    ['zip.packed', { packed: Uint8Array.of(0xff, 0xff, 0xff) }],
    ['zip.packed', { packed: deflateRawSync(Buffer.from(hex)).subarray(0, 700) }],
    ['zip.packed', { packed: new Uint8Array(0) }],
    ['zip.packed', { bytes: 10 }],
    ['zip.packed', { bytes: 1_000_000 }],
    ['zip.packed', { bytes: 10, stored: true }],
    ['zip.header', { localName: 'x.hex' }],
    ['zip.header', { localName: 'other.hex' }],
    ['zip.header', { packedBytes: 1_000_000 }],
    ['zip.encrypted', { flags: 1 }],
    ['zip.method', { method: 12 }],
    ['zip.entry-size', { bytes: MAX_ZIP_ENTRY_BYTES + 1 }],
    ['zip.nested', { content: makeZip([{ name: 'a.hex', content: hex }]) }],
    ['format.empty', { content: '' }],
  ])('%s for %j', (code, damaged) => {
    expect(outcome(makeZip(parts(damaged)))).toEqual([
      ['a.hex', 'image'],
      ['b.hex', 'other', code],
      ['c.hex', 'image'],
    ])
  })

  it('a damaged card does not spoil its image', () => {
    const zip = (content: string, more: Partial<ZipPart> = {}) =>
      makeZip([
        { name: 'a.hex', content: hex },
        { name: 'a.hex.card.json', content, ...more },
      ])
    expect(outcome(zip('{\n"typeId": nonsense'))).toEqual([['a.hex', 'image', 'card.not-json']])
    expect(entries(zip('{\n"typeId": nonsense'))[0].problems[0]).toMatchObject({
      file: 'a.hex.card.json in club.zip',
      line: 2,
    })
    expect(outcome(zip(' '.repeat(900_000)))).toEqual([['a.hex', 'image', 'card.too-large']])
    expect(outcome(zip(cardText, { crc: 1 }))).toEqual([['a.hex', 'image', 'zip.crc']])
    expect(entries(zip(cardText))[0]).toMatchObject({ card: built.card, problems: [] })
  })
})

describe('names that deceive are said and not used', () => {
  it.each([
    '../a.hex',
    'x/../../a.hex',
    './a.hex',
    '/etc/a.hex',
    'C:/a.hex',
    'C:a.hex',
    'x\\a.hex',
    'a\0.hex',
    'a\u202egpj.hex',
    '',
    'x'.repeat(256),
  ])('%j', name => {
    const [entry] = entries(makeZip([{ name, content: hex }]))
    expect(entry).toMatchObject({ kind: 'other', problems: [{ code: 'zip.name' }] })
    expect(entry.name).not.toMatch(/[\p{Cc}\p{Cf}]/u)
    expect(entry.name.length).toBeLessThan(256)
    expect(entry.image).toBeUndefined()
  })

  it('a name with dots in it is a name', () => expect(one({ name: '..a..hex' })).toEqual(['image']))

  it('the second of two entries of one name', () => {
    const zip = makeZip([
      { name: 'a.hex', content: hex },
      { name: 'a.hex', content: 'x' },
    ])
    expect(outcome(zip)).toEqual([
      ['a.hex', 'image'],
      ['a.hex', 'other', 'zip.twice'],
    ])
  })

  it('letters of an old code page are shown as _', () => {
    const zip = makeZip([{ name: 'Gr..e.hex', content: hex, flags: 0 }])
    for (let at = zip.indexOf(0x2e); at > 0 && at < zip.length - 6; at = zip.indexOf(0x2e, at + 1))
      if (zip[at + 1] === 0x2e) zip.set([0x94, 0xe1], at)
    expect(outcome(zip)).toEqual([['Gr__e.hex', 'image']])
  })
})

describe('bounds', () => {
  it('no more entries, and no larger an archive, than allowed', () => {
    const many = Array.from({ length: MOST_ZIP_ENTRIES + 1 }, (_, n) => ({
      name: `${n}`,
      content: 'x',
      stored: true,
    }))
    expect(refusal(makeZip(many))).toMatchObject({ code: 'zip.entries', file: 'club.zip' })
    expect(outcome(makeZip(many.slice(1)))).toHaveLength(MOST_ZIP_ENTRIES)
    expect(refusal(new Uint8Array(MAX_ZIP_FILE_BYTES + 1))?.code).toBe('zip.too-large')
  })

  it('what the entries state together is added up before anything is unpacked', () => {
    const large = Array.from({ length: 65 }, (_, n) => ({
      name: `${n}`,
      content: 'x',
      bytes: 4 * 1024 * 1024,
    }))
    expect(refusal(makeZip(large))).toMatchObject({
      code: 'zip.inflated',
      expected: `at most ${MAX_ZIP_INFLATED_BYTES}`,
    })
  })

  it('an entry that unpacks to more than it states is stopped there', () => {
    const bomb = deflateRawSync(Buffer.alloc(64 * 1024 * 1024))
    expect(one({ packed: bomb, bytes: 1000 })).toEqual(['other', 'zip.packed'])
  })

  it('an entry that is far longer packed than unpacked is stopped too', () => {
    // Empty stored blocks, five octets each (RFC 1951, section 3.2.4), which unpack to nothing.
    const empty = Uint8Array.from({ length: 500_000 }, (_, i) => [0, 0, 0, 0xff, 0xff][i % 5])
    const [entry] = entries(makeZip([{ name: 'a', content: 'x', packed: empty }]))
    expect(entry.problems[0]).toMatchObject({
      code: 'zip.packed',
      message: expect.stringContaining('longer'),
    })
    const incompressible = new Uint8Array(randomBytes(3_000_000))
    expect(one({ name: 'a.bin', content: incompressible })).toEqual(['image'])
  })
})

describe('an archive that is none', () => {
  const good = makeZip([{ name: 'a.hex', content: hex }])

  it.each<[string, Uint8Array]>([
    ['zip.no-end', good.subarray(0, good.length - 1)],
    ['zip.no-end', good.subarray(0, 4)],
    ['zip.no-end', new Uint8Array(0)],
    ['zip.directory', makeZip([{ name: 'a.hex', content: hex }], { count: 2 })],
    ['zip.directory', makeZip([{ name: 'a.hex', content: hex }], { offset: 1_000_000 })],
    ['zip.directory', makeZip([{ name: 'a.hex', content: hex }], { offset: 3 })],
    ['zip.kind', makeZip([{ name: 'a.hex', content: hex }], { offset: 0xffff_ffff })],
  ])('%s', (code, zip) => {
    const problem = refusal(zip)
    expect(problem).toMatchObject({ code, file: 'club.zip' })
    expect(problem?.expected).toBeTruthy()
    expect(problem?.remedy).toBeTruthy()
  })

  it('an empty one has nothing in it', () => expect(outcome(makeZip([]))).toEqual([]))

  it('a comment after the directory does no harm', () => {
    const commented = new Uint8Array([...good, ...new TextEncoder().encode('hello')])
    commented[good.length - 2] = 5
    expect(outcome(commented)).toEqual([['a.hex', 'image']])
  })
})
