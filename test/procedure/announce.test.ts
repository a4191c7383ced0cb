import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { cardForDeclared } from '../../shared/image/image-card.ts'
import { bandSchema } from '../../shared/model/units.ts'
import { announcementOf, factsAnnounced } from '../../shared/procedure/announce.ts'
import { ADDRESS, announcementBody, readAnnouncement } from '../../shared/procedure/bus.ts'

const { receiverTypes } = demoBench().catalogue
const known = <T>(arb: fc.Arbitrary<T>) => fc.oneof(arb, fc.constant('unknown' as const))
const u16 = fc.nat(0xffff)

const cards = fc
  .record({
    type: fc.constantFrom(...receiverTypes),
    version: known(fc.tuple(u16, u16, u16).map(v => v.join('.'))),
    sequenceNumber: fc.integer({ min: 1, max: 0xffff_ffff }),
    generation: known(fc.integer({ min: 1, max: 9 })),
    bands: known(fc.subarray([...bandSchema.options], { minLength: 1 })),
    region: fc.constantFrom('any' as const, 'lbt' as const, 'hopping' as const, 'unknown' as const),
    wirelessCapable: known(fc.boolean()),
    sizeBytes: fc.integer({ min: 1, max: 8 * 1024 * 1024 }),
    crc32: fc.nat(0xffff_ffff),
    programAddress: fc.nat(0xffff_ffff),
  })
  .map(({ type, ...rest }) => ({
    type,
    card: cardForDeclared({
      ...rest,
      typeId: type.id,
      payloadFormat: 'raw',
      sha256: '0'.repeat(64),
      hardwareRevisions: type.hardwareRevisions.slice(0, 1),
    }),
  }))

describe('an image card on the bus', () => {
  it('gives the receiver the facts that the card states', () => {
    fc.assert(
      fc.property(cards, ({ type, card }) => {
        const body = announcementBody(ADDRESS.receiver, announcementOf(card, type))
        const facts = factsAnnounced(readAnnouncement(body)!, receiverTypes, type, 'none')
        expect(facts).toMatchObject({
          typeId: card.typeId,
          version: card.version === 'unknown' ? '0.0.0' : card.version,
          sequenceNumber: card.sequenceNumber,
          generation: card.generation,
          region: card.region,
          wirelessCapable: card.wirelessCapable,
          sizeBytes: card.sizeBytes,
          programAddress: card.programAddress,
          hardwareRevisions: card.hardwareRevisions,
        })
        expect(facts.bands === 'unknown' ? 'unknown' : [...facts.bands].sort()).toEqual(
          card.bands === 'unknown' ? 'unknown' : [...card.bands].sort(),
        )
      }),
    )
  })

  it('is no announcement when it is cut short, wherever', () => {
    const { type, card } = { type: receiverTypes[0], card: fc.sample(cards, 1)[0].card }
    const body = announcementBody(ADDRESS.receiver, announcementOf(card, type))
    for (let length = 0; length < body.length; length++)
      expect(readAnnouncement(body.subarray(0, length))).toBeUndefined()
  })

  it('does not take a revision that the type does not list for one that it does', () => {
    const type = receiverTypes[0]
    const card = { ...fc.sample(cards, 1)[0].card, typeId: type.id, hardwareRevisions: ['Z'] }
    const facts = factsAnnounced(announcementOf(card, type), receiverTypes, type, 'none')
    expect(facts.hardwareRevisions).toEqual([])
  })
})
