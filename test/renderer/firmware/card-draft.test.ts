import { describe, expect, it } from 'vitest'
import { cardOf, draftErrors, draftOf } from '../../../renderer/firmware/card-draft.ts'
import { gapsOf } from '../../../renderer/firmware/listed.ts'
import { imageCardSchema } from '../../../shared/image/image-card.ts'
import { entryOf } from '../../../shared/library/entry.ts'
import { entryFacts } from '../../../shared/library/facts.ts'
import { bench, entryFor, typeOf } from './sources.ts'

const type = typeOf('aldwick-wren-6')
const blank = () => {
  const octets = Uint8Array.from({ length: 9000 }, (_, i) => (i * 167 + (i >> 5)) & 0x7f)
  const read = entryOf({ fileName: 'mystery.bin', octets }, '2026-11-25T08:00:00.000Z')
  if (!read.ok) throw new Error(read.problems[0].message)
  return read.value
}

describe('saying what an image is for', () => {
  it('starts from nothing where nobody has said anything', () => {
    expect(Object.values(draftOf(blank(), bench))).toEqual(Array(7).fill('unknown'))
  })

  it('starts from what the image says inside', () => {
    expect(draftOf(entryFor('a.hex', { version: '2.7.0' }, false), bench)).toMatchObject({
      typeId: 'aldwick-wren-6',
      version: '2.7.0',
      hardwareRevisions: 'unknown',
    })
  })

  it('makes a card that the schema takes and the rules believe', () => {
    const entry = blank()
    const card = cardOf(
      {
        typeId: type.id,
        version: ' 2.6.0 ',
        generation: 3,
        bands: ['2.4GHz'],
        region: 'any',
        hardwareRevisions: ['B'],
        wirelessCapable: false,
      },
      entry,
      bench,
    )
    expect(imageCardSchema.parse(card)).toMatchObject({ version: '2.6.0', sha256: entry.id, sizeBytes: 9000 })
    expect(card.programAddress).toBe(type.flash.programAddress)
    expect(gapsOf(entryFacts({ ...entry, card }, bench, type))).toEqual([])
  })

  it('leaves every unknown unknown, the type too', () => {
    const entry = blank()
    const card = cardOf(draftOf(entry, bench), entry, bench)
    expect(card).toMatchObject({
      typeId: 'unknown',
      version: 'unknown',
      bands: 'unknown',
      vendorId: 'unknown',
    })
    expect(gapsOf(entryFacts({ ...entry, card }, bench, type))).toHaveLength(7)
  })

  it('keeps what the card said besides, but no signature that was for other words', () => {
    const entry = entryFor('a.hex', { receiverFirmware: '>=2.0.0' })
    const signature = { algorithm: 'Ed25519' as const, keyId: 'club', value: '0'.repeat(128) }
    const signed = { ...entry, card: { ...entry.card!, signature } }
    const card = cardOf({ ...draftOf(signed, bench), region: 'hopping' }, signed, bench)
    expect(card.dependencies).toEqual(entry.card!.dependencies)
    expect(card.notes).toBe(entry.card!.notes)
    expect(card.region).toBe('hopping')
    expect(card.signature).toBeUndefined()
  })

  it('complains about a version that is none, and about lists with nothing in them', () => {
    const draft = draftOf(blank(), bench)
    expect(draftErrors(draft)).toEqual({})
    expect(Object.keys(draftErrors({ ...draft, version: '2.6', bands: [], hardwareRevisions: [] }))).toEqual([
      'version',
      'bands',
      'hardwareRevisions',
    ])
  })
})
