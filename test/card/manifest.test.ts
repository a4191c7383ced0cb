import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  type Manifest,
  readManifest,
  type StagedImage,
  stagedImage,
  withStaged,
  writeManifest,
} from '../../shared/card/manifest.ts'
import { staleOn } from '../../shared/card/stale.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { withSeen } from '../../shared/fit/identify.ts'
import { benchImage } from '../../shared/rehearse/image.ts'

const bench = demoBench()
const type = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6')!
const AT = '2026-11-25T10:00:00Z'

function staged(imageId: string, changes: Partial<StagedImage> = {}): StagedImage {
  const image = benchImage(bench, type, imageId)
  if (!image.ok) throw new Error(imageId)
  const name = `${imageId}.image`
  const cardName = `${imageId}.card.json`
  const { card } = image.value
  return { ...stagedImage({ name, cardName, card, cardSha256: 'a'.repeat(64), staged: AT }), ...changes }
}
const manifestOf = (...images: StagedImage[]): Manifest =>
  images.reduce<Manifest | undefined>((m, image) => withStaged(m, image), undefined)!
const kinds = (m: Manifest, on = bench) => staleOn(m, on).map(s => [s.name, s.kind, s.by])

describe('the manifest of a card', () => {
  it('comes back as it was written', () => {
    const manifest = withStaged(manifestOf(staged('wren-6-2.4.0')), staged('heron-8-1.7.0'), 'Club Tarn')
    expect(readManifest(writeManifest(manifest), 'm')).toEqual({ ok: true, value: manifest, warnings: [] })
    expect(manifest.cardName).toBe('Club Tarn')
    expect(withStaged(manifest, staged('wren-6-2.1.0')).cardName).toBe('Club Tarn')
  })

  it('holds an image once, however its name is spelt', () => {
    const again = staged('wren-6-2.4.0', { name: 'WREN-6-2.4.0.IMAGE', staged: '2026-11-26T10:00:00Z' })
    const { images, written } = manifestOf(staged('wren-6-2.4.0'), staged('wren-6-2.3.0'), again)
    expect(images.map(i => i.name)).toEqual(['WREN-6-2.4.0.IMAGE', 'wren-6-2.3.0.image'])
    expect(written).toBe('2026-11-26T10:00:00Z')
  })

  it('that is damaged gets a message with line, field and remedy', () => {
    const good = writeManifest(manifestOf(staged('wren-6-2.4.0')))
    const broken = readManifest(good.replace('"images": [', '"images": ['.slice(0, -1)), 'CARD/m.json')
    expect(broken).toMatchObject({
      ok: false,
      problems: [{ code: 'manifest.not-json', file: 'CARD/m.json', line: expect.any(Number) }],
    })
    for (const [from, to, field] of [
      ['"typeId": "aldwick-wren-6"', '"typeId": "A B"', 'images[0].typeId'],
      ['"name": "wren', '"name": "../wren', 'images[0].name'],
      ['"formatVersion": 1', '"formatVersion": 2', 'formatVersion'],
    ]) {
      expect(good).toContain(from)
      expect(readManifest(good.replace(from, to), 'm')).toMatchObject({
        ok: false,
        problems: [
          {
            code: 'manifest.field',
            field,
            message: expect.stringMatching(/^This cannot be /),
            remedy: expect.stringContaining('Stage'),
          },
        ],
      })
    }
    expect(readManifest('x'.repeat(1_000_001), 'm')).toMatchObject({
      problems: [{ code: 'manifest.too-large' }],
    })
  })

  it('never throws, whatever the card gives', () => {
    const good = writeManifest(manifestOf(staged('wren-6-2.4.0'), staged('wren-6-2.3.0')))
    fc.assert(
      fc.property(fc.nat(good.length), fc.nat(20), fc.string({ maxLength: 8 }), (at, cut, put) => {
        const read = readManifest(good.slice(0, at) + put + good.slice(at + cut), 'm')
        if (!read.ok) expect(read.problems.length).toBeGreaterThan(0)
      }),
      { numRuns: 500 },
    )
  })
})

describe('what is stale on a card', () => {
  it('is what a newer image for the same receivers supersedes', () => {
    expect(kinds(manifestOf(staged('wren-6-2.4.0')))).toEqual([])
    expect(kinds(manifestOf(staged('wren-6-2.1.0'), staged('heron-8-1.7.0')))).toEqual([
      ['wren-6-2.1.0.image', 'superseded', 'wren-6-2.4.0'],
    ])
  })

  it('is not what the conversion to another generation, which is newer, leaves to its own', () => {
    const two = bench.images.find(i => i.convertsFrom === 2)!
    expect(two.sequenceNumber).toBeGreaterThan(17)
    expect(kinds(manifestOf(staged('heron-8-1.7.0'), staged(two.id)))).toEqual([])
  })

  it('is judged against the other images on the card too', () => {
    const bare = { ...bench, images: [] }
    expect(kinds(manifestOf(staged('wren-6-2.3.0'), staged('wren-6-2.4.0')), bare)).toEqual([
      ['wren-6-2.3.0.image', 'superseded', 'wren-6-2.4.0.image'],
    ])
  })

  it('stays open where too little is known, and never counts as fine', () => {
    const m = manifestOf(staged('wren-6-2.4.0', { sequenceNumber: 'unknown' }))
    expect(kinds(m)[0].slice(0, 2)).toEqual(['wren-6-2.4.0.image', 'not-known'])
  })

  it('is what another band or revision still needs only if nothing serves it', () => {
    const both = staged('wren-6-2.3.0', { bands: ['2.4GHz', '868MHz'] })
    expect(kinds(manifestOf(both))).toEqual([])
  })

  it('is what is for nobody here', () => {
    const foreign = staged('wren-6-2.4.0', { typeId: 'somebody-else-9' })
    expect(kinds(manifestOf(foreign))).toEqual([['wren-6-2.4.0.image', 'foreign', undefined]])
    const without = { ...bench, receivers: bench.receivers.filter(r => r.typeId !== 'aldwick-wren-6') }
    // The receiver from the flea market may be a Wren, until something else is seen of it.
    expect(kinds(manifestOf(staged('wren-6-2.4.0')), without)).toEqual([])
    const unmarked = without.receivers.find(r => r.typeId === 'unknown')!
    expect(kinds(manifestOf(staged('wren-6-2.4.0')), withSeen(without, unmarked, { outputs: 4 }))).toEqual([
      ['wren-6-2.4.0.image', 'no-receiver', undefined],
    ])
  })
})
