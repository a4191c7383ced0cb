import { createHash } from 'node:crypto'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { buildImage } from '../../shared/image/build.ts'
import { vendorIdOf } from '../../shared/image/digest.ts'
import { writeImageCard } from '../../shared/image/image-card.ts'
import { publicKeyOf, signCard } from '../../shared/image/signature.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { writeSRecords } from '../../shared/image/write-s-record.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'
import { preflash } from '../support/cli.ts'
import { needs, titled } from '../support/needs.ts'
import { makeZip } from '../support/zip.ts'

const folder = mkdtempSync(join(tmpdir(), 'preflash-inspect-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))
const file = (name: string, content: string | Uint8Array) => {
  const path = join(folder, name)
  writeFileSync(path, content)
  return path
}
const inspect = async (...args: string[]) => {
  const run = await preflash('inspect', ...args, '--json')
  return { ...run, report: run.out === '' ? undefined : JSON.parse(run.out) }
}
const sha256 = (...parts: Uint8Array[]) => {
  const hash = createHash('sha256')
  for (const part of parts) hash.update(part)
  return hash.digest('hex')
}

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
const { octets } = built.segments[0]
const [one, two] = [octets.subarray(0, 1000), octets.subarray(2000)]
const pieces = [
  { address: 0x08002000, octets: one },
  { address: 0x08002000 + 2000, octets: two },
]

describe('preflash inspect', () => {
  it.each([
    ['intel-hex', writeIntelHex(pieces)],
    ['s-record', writeSRecords(pieces)],
    ['uf2', writeUf2(pieces)],
  ])('reads %s whatever its name is, gaps filled with FF', async (format, content) => {
    const run = await inspect(file(`image-${format}.dat`, content))
    expect(run.code).toBe(0)
    expect(run.err).toBe('')
    expect(run.report).toMatchObject({
      format,
      bytes: 1000 + 2096,
      fileBytes: content.length,
      segments: [
        { address: 0x08002000, length: 1000 },
        { address: 0x08002000 + 2000, length: 2096 },
      ],
      sha256: sha256(one, new Uint8Array(1000).fill(0xff), two),
      problems: [],
    })
  })

  it('reads a raw image at the address given, and says what it is for in plain text', async () => {
    const path = file('finch.bin', octets)
    const run = await inspect(path, '--address', '0x08002000')
    expect(run.report).toMatchObject({
      format: 'raw',
      bytes: 4096,
      segments: [{ address: 0x08002000, length: 4096 }],
      sha256: built.card.sha256,
      embedded: { version: '1.2.0' },
    })
    expect((await inspect(path)).report.segments).toEqual([{ address: 0, length: 4096 }])
    const { code, out } = await preflash('inspect', path)
    expect(code).toBe(0)
    expect(out).toContain('finch.bin: raw binary, 4096 octets')
    expect(out).toContain('version 1.2.0')
    expect(out).toContain('no image card')
  })

  it('a damaged file is bad input, with the line or the block', async () => {
    const hex = file('damaged.hex', writeIntelHex(pieces).replace('\n:1020', '\n:1021'))
    const run = await inspect(hex)
    expect(run.code).toBe(2)
    expect(run.err).toMatch(/damaged\.hex, line 2: .*Expected: checksum/)
    expect(run.report).toMatchObject({
      format: null,
      sha256: null,
      problems: [{ code: 'hex.checksum', line: 2 }],
    })
    const uf2 = writeUf2(pieces)
    uf2[512] ^= 1
    const block = await preflash('inspect', file('damaged.uf2', uf2))
    expect(block).toMatchObject({ code: 2, out: '' })
    expect(block.err).toContain('damaged.uf2, block 2: ')
  })

  it('takes one family out of a UF2 file with several', async () => {
    const both = new Uint8Array([
      ...writeUf2(pieces, { familyId: 1 }),
      ...writeUf2(pieces.slice(1), { familyId: 2 }),
    ])
    const path = file('both.uf2', both)
    const refused = await inspect(path)
    expect([refused.code, refused.report.problems[0].code]).toEqual([2, 'uf2.families'])
    expect((await inspect(path, '--family', '0x00000002')).report.segments).toHaveLength(1)
  })

  it('what is given wrongly is bad input that names the option', async () => {
    const path = file('finch.bin', octets)
    for (const address of ['here', '0x100000000']) {
      const run = await preflash('inspect', path, `--address=${address}`)
      expect(run.code).toBe(2)
      expect(run.err).toContain('--address')
    }
    expect((await preflash('inspect', '/nowhere.hex')).code).toBe(2)
  })
})

describe('preflash inspect with an image card', () => {
  const secret = new Uint8Array(32).fill(5)
  const card = signCard(built.card, 'aldwick-2026', secret)
  const key = {
    keyId: 'aldwick-2026',
    maker: 'Aldwick',
    publicKey: publicKeyOf(secret),
    added: '2026-11-25T09:00:00Z',
  }
  const keys = file('keys.json', JSON.stringify([key]))
  const withCard = (name: string, cardText: string, image = octets) => {
    file(`${name}.card.json`, cardText)
    return file(name, image)
  }

  it('judges the signature by the trusted keys', async () => {
    const path = withCard('signed.bin', writeImageCard(card))
    const good = await inspect(path, '--keys', keys)
    expect(good.code).toBe(0)
    expect(good.report).toMatchObject({ signature: { verdict: 'good', maker: 'Aldwick' }, problems: [] })
    const unknown = await inspect(path)
    expect([unknown.code, unknown.report.signature.verdict]).toEqual([0, 'unknown-key'])
    expect(built.card.vendorId).toBe(vendorIdOf('Aldwick'))
    const unsigned = await inspect(withCard('unsigned.bin', writeImageCard(built.card)), '--keys', keys)
    expect([unsigned.code, unsigned.report.problems[0].code]).toEqual([0, 'signature.missing'])
  })

  it('ends with 1 when the card or its signature speaks against the image', async () => {
    const changed = await inspect(
      withCard('changed.bin', writeImageCard({ ...card, version: '9.9.9' })),
      '--keys',
      keys,
    )
    expect([changed.code, changed.report.signature.verdict]).toEqual([1, 'bad'])
    const other = await inspect(withCard('other.bin', writeImageCard(built.card), octets.subarray(0, 4000)))
    expect(other.code).toBe(1)
    expect(other.report.problems[0]).toMatchObject({ code: 'card.other-digest', field: 'sha256' })
    const broken = await inspect(withCard('broken.bin', '{\n'))
    expect(broken.code).toBe(1)
    expect(broken.report.problems[0]).toMatchObject({ code: 'card.not-json', line: 1 })
  })
})

describe('preflash inspect with an archive', () => {
  const good = { name: 'finch/1.2.0.hex', content: writeIntelHex(built.segments) }

  it('lists the entries: one damaged file does not spoil the others', async () => {
    const path = file(
      'club.zip',
      makeZip([
        good,
        { name: `${good.name}.card.json`, content: writeImageCard(built.card) },
        { name: 'damaged.s19', content: writeSRecords(pieces).replace('S3', 'S4') },
        { name: '../../evil.hex', content: good.content },
      ]),
    )
    const run = await inspect(path)
    expect(run.code).toBe(1)
    expect(run.report.format).toBe('zip')
    expect(run.report.entries).toMatchObject([
      { name: good.name, kind: 'image', sha256: built.card.sha256, card: { version: '1.2.0' }, problems: [] },
      { name: 'damaged.s19', kind: 'other', problems: [{ code: 's-record.type', line: 2 }] },
      { name: '../../evil.hex', kind: 'other', problems: [{ code: 'zip.name' }] },
    ])
    const { out } = await preflash('inspect', path)
    expect(out).toContain('finch/1.2.0.hex: Intel HEX, 4096 octets')
    expect(out).toContain('line 2: The line begins with S4')
  })

  it('ends with 0 when nothing is wrong, and with 2 when there is no image', async () => {
    expect((await inspect(file('good.zip', makeZip([good])))).code).toBe(0)
    const none = await inspect(file('none.zip', makeZip([{ name: 'a.hex', content: ':0300300002337A1F\n' }])))
    expect([none.code, none.report.entries.length]).toEqual([2, 1])
    expect((await inspect(file('cut.zip', makeZip([good]).subarray(0, 900)))).report.problems[0].code).toBe(
      'zip.no-end',
    )
  })
})

describe.skipIf(needs('microbit-hex') === undefined)(titled('a shipped file', 'microbit-hex'), () => {
  it('is inspected', async () => {
    const path = needs('microbit-hex') as string
    const run = await inspect(path)
    expect(run.code).toBe(0)
    expect(run.report).toMatchObject({ format: 'intel-hex', fileBytes: readFileSync(path).length })
    expect(run.report.problems.map((p: { code: string }) => p.code)).toEqual(['image.far-apart'])
  })
})
