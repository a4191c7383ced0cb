import { describe, expect, it } from 'vitest'
import { carryOut, type ReadItem, type ReadTask } from '../../main/work/tasks.ts'
import { buildImage } from '../../shared/image/build.ts'
import { signCard, type TrustedKey } from '../../shared/image/signature.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'
import { filesOf, wrenSpec } from '../renderer/firmware/sources.ts'
import { makeZip } from '../support/zip.ts'

const utf8 = (text: string) => new TextEncoder().encode(text)
const good = filesOf(wrenSpec)
const damaged = good.hex.replace(/\n:10/, '\n:11')
const read = (task: Omit<ReadTask, 'do' | 'imported'>): ReadItem[] => [
  ...(carryOut({ do: 'read', imported: '2026-11-25T08:00:00.000Z', ...task }) as Iterable<ReadItem>),
]

describe('reading an archive', () => {
  const club = makeZip([
    { name: 'wren/2.5.0.hex', content: good.hex },
    { name: 'wren/2.5.0.card.json', content: good.card },
    { name: 'wren/bad.hex', content: damaged },
    {
      name: 'README.txt',
      content: 'Please read this first, it says how the images are to be used. '.repeat(3),
    },
    { name: 'film.dat', content: Uint8Array.from({ length: 500 }, (_, i) => i * 7) },
    { name: 'raw.bin', content: Uint8Array.from({ length: 500 }, (_, i) => i * 7) },
  ])

  it('takes each file by itself, with the card beside it, and names a damaged one by place and line', () => {
    const items = read({ fileName: 'club.zip', octets: club })
    expect(items.map(i => [i.fileName, i.within, i.entry?.cardFrom ?? i.problems[0].code])).toEqual([
      ['wren/2.5.0.hex', 'club.zip', 'beside'],
      ['wren/bad.hex', 'club.zip', 'hex.length'],
      ['README.txt', 'club.zip', 'format.text'],
      ['film.dat', 'club.zip', 'format.unlikely'],
      ['raw.bin', 'club.zip', 'nobody'],
    ])
    expect(items[0].entry).toMatchObject({ fileName: '2.5.0.hex', problems: [] })
    expect(items[0].octets).toEqual(utf8(good.hex))
    expect(items[1].problems[0]).toMatchObject({ file: 'wren/bad.hex in club.zip', line: 2 })
  })

  it('takes one file alone where one is asked for', () => {
    const items = read({ fileName: 'club.zip', octets: club, only: 'wren/2.5.0.hex' })
    expect(items.map(i => i.entry?.fileName)).toEqual(['2.5.0.hex'])
  })

  it('says so when there is nothing in it', () => {
    expect(read({ fileName: 'e.zip', octets: makeZip([]) })).toMatchObject([
      { fileName: 'e.zip', problems: [{ code: 'zip.empty' }] },
    ])
  })

  it('takes an image whose card is damaged', () => {
    const zip = makeZip([
      { name: 'a.hex', content: good.hex },
      { name: 'a.card.json', content: good.card, crc: 1 },
    ])
    const [item] = read({ fileName: 'c.zip', octets: zip })
    expect(item.entry).toMatchObject({ card: null, problems: [{ code: 'zip.crc' }] })
  })
})

describe('a UF2 file for several families', () => {
  const { segments, card } = buildImage(wrenSpec)
  const other = buildImage({ ...wrenSpec, version: '2.6.0' })
  const octets = new Uint8Array([
    ...writeUf2(segments, { familyId: 7 }),
    ...writeUf2(other.segments, { familyId: 0x5ee21072 }),
  ])

  it('asks which, and gives the image of the one that was chosen as a file of its own', () => {
    const [asked] = read({ fileName: 'two.uf2', octets })
    expect(asked).toMatchObject({ families: [7, 0x5ee21072], problems: [{ code: 'uf2.families' }] })
    const both = read({ fileName: 'two.uf2', octets, cardText: good.card, families: [7, 0x5ee21072] })
    expect(both.map(i => [i.entry?.fileName, i.entry?.id, i.entry?.cardFrom])).toEqual([
      ['two-0x00000007.uf2', card.sha256, 'beside'],
      ['two-0x5EE21072.uf2', other.card.sha256, 'nobody'],
    ])
    expect(both[1].octets).toEqual(writeUf2(other.segments, { familyId: 0x5ee21072 }))
  })

  it('says so when the family is not there', () => {
    expect(read({ fileName: 'two.uf2', octets, families: [9] })[0].problems[0].code).toBe('format.empty')
  })
})

describe('comparing and judging', () => {
  it('finds the same program filled otherwise', () => {
    const { segments } = buildImage({ ...wrenSpec, sizeBytes: 8192 })
    const longer = new Uint8Array(segments[0].octets.length + 64).fill(0xff)
    longer.set(segments[0].octets)
    const compared = [...carryOut({ do: 'compare', a: segments[0].octets, b: longer })]
    expect(compared).toMatchObject([{ likeness: 'padded', differing: 64 }])
    expect([...carryOut({ do: 'compare', a: new Uint8Array(0), b: longer })]).toEqual([])
  })

  it('judges by the keys given; the key is that of RFC 8032, section 7.1, TEST 1', () => {
    const secret = Buffer.from('9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60', 'hex')
    const key: TrustedKey = {
      keyId: 'aldwick-2026',
      maker: 'Aldwick',
      publicKey: 'd75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a',
      added: '2026-11-25T08:00:00Z',
    }
    const { card } = buildImage(wrenSpec)
    const signed = signCard(card, key.keyId, new Uint8Array(secret))
    const judge = (c: typeof signed, keys: TrustedKey[]) => [
      ...carryOut({ do: 'judge', signed: [{ card: c, sha256: card.sha256 }], keys }),
    ]
    expect(judge(signed, [key])).toMatchObject([{ verdict: 'good' }])
    expect(judge({ ...signed, version: '9.9.9' }, [key])).toMatchObject([{ verdict: 'bad' }])
    expect(judge(signed, [])).toMatchObject([{ verdict: 'unknown-key' }])
    expect(judge(card, [key])).toMatchObject([{ verdict: 'missing' }])
  })
})
