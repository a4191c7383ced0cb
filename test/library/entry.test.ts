import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { rankImages } from '../../shared/fit/rank.ts'
import { buildImage } from '../../shared/image/build.ts'
import { writeImageCard } from '../../shared/image/image-card.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { entryOf, libraryEntrySchema } from '../../shared/library/entry.ts'
import { candidatesOf, entryFacts } from '../../shared/library/facts.ts'
import { readyImage } from '../../shared/rehearse/image.ts'

const bench = demoBench()
const type = (id: string) => bench.catalogue.receiverTypes.find(t => t.id === id)!
const encoder = new TextEncoder()

function fileOf(imageId: string, withCard: boolean) {
  const image = bench.images.find(i => i.id === imageId)!
  const own = type(image.typeId)
  const { segments, card } = buildImage({
    ...image,
    typeName: own.name,
    vendorName: own.maker,
    programAddress: own.flash.programAddress,
  })
  const octets = encoder.encode(writeIntelHex(segments))
  return { fileName: `${imageId}.hex`, octets, ...(withCard ? { cardText: writeImageCard(card) } : {}) }
}

function entry(imageId: string, withCard: boolean) {
  const read = entryOf(fileOf(imageId, withCard), '2026-11-25T08:00:00.000Z')
  if (!read.ok) throw new Error(read.problems[0].message)
  return libraryEntrySchema.parse(read.value)
}

describe('a library entry', () => {
  it('gives the rules what reading the image itself would give them', () => {
    for (const image of bench.images) {
      const own = type(image.typeId)
      const file = fileOf(image.id, true)
      const ready = readyImage(bench, own, { kind: 'file', ...file }, false)
      if (!ready.ok) throw new Error(ready.problems[0].message)
      expect(entryFacts(entry(image.id, true), bench, own)).toEqual(ready.value.facts)
    }
  })

  it('knows the type without a card, by the class that the image carries inside, and leaves the rest unknown', () => {
    const facts = entryFacts(entry('wren-6-2.4.0', false), bench, type('aldwick-wren-6'))
    expect(facts).toMatchObject({
      typeId: 'aldwick-wren-6',
      version: '2.4.0',
      generation: 3,
      intact: 'unknown',
    })
    expect(facts.hardwareRevisions).toBe('unknown')
  })

  it('is not proved whole by a card that was filled in afterwards, but by the digest that was compared', () => {
    const own = type('aldwick-wren-6')
    const beside = entry('wren-6-2.4.0', true)
    expect(entryFacts(beside, bench, own).intact).toBe(true)
    const byHand = { ...beside, cardFrom: 'by-hand' as const }
    expect(entryFacts(byHand, bench, own).intact).toBe('unknown')
    const compared = { ...byHand, digestCompared: '2026-11-25T08:00:00.000Z' }
    expect(entryFacts(compared, bench, own).intact).toBe(true)
  })

  it('counts what lies outside program flash', () => {
    const octets = encoder.encode(
      writeIntelHex([
        { address: 0x100, octets: new Uint8Array(64).fill(1) },
        { address: 0x1000_0000, octets: new Uint8Array(28).fill(2) },
      ]),
    )
    const read = entryOf({ fileName: 'far.hex', octets }, '2026-11-25T08:00:00.000Z')
    if (!read.ok) throw new Error(read.problems[0].message)
    const facts = entryFacts(read.value, bench, type('aldwick-wren-6'))
    expect(facts).toMatchObject({ outsideBytes: 28, programAddress: 0, typeId: 'unknown' })
  })

  it('is seen as from a receiver of its own type where the receiver’s is not known', () => {
    for (const { id, typeId } of bench.images) {
      const kept = entry(id, true)
      expect(entryFacts(kept, bench, undefined)).toEqual(entryFacts(kept, bench, type(typeId)))
    }
  })

  it('ranks as the bench’s own image does', () => {
    const entries = bench.images.map(i => entry(i.id, true))
    const ranked = rankImages(
      bench,
      'wren-trainer',
      'cable',
      candidatesOf(entries, bench, type('aldwick-wren-6')),
    )!
    expect(ranked[0]).toMatchObject({ verdict: 'fits', candidate: { name: 'wren-6-2.4.0.hex' } })
  })
})
