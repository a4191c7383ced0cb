import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { forCard } from '../../shared/fit/for-card.ts'
import { rankImages } from '../../shared/fit/rank.ts'
import type { Finding } from '../../shared/fit/rule.ts'
import type { ImageFacts } from '../../shared/fit/situation.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'

const bench = demoBench()

function saidOf(change: Partial<ImageFacts> = {}, receiver: Partial<ReceiverUnit> = {}, on: Bench = bench) {
  const receivers = on.receivers.map(r => (r.id === 'wren-trainer' ? { ...r, ...receiver } : r))
  const type = on.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6')
  const facts = { ...builtFacts(on.images[0], type), ...change }
  const [ranked] = rankImages({ ...on, receivers }, 'wren-trainer', 'cable', [{ id: 'x', name: 'x', facts }])!
  const { refused, cautions, later } = forCard(ranked.findings)
  const ids = (all: typeof refused) => all.map(f => f.rule.id)
  return { refused: ids(refused), cautions: ids(cautions), later: ids(later) }
}

describe('what the rules say of putting an image on a card', () => {
  it('is nothing where all of them hold', () => {
    expect(saidOf()).toEqual({ refused: [], cautions: [], later: [] })
  })

  it('counts the rules between image and receiver that hold, and no others', () => {
    const rule = (id: string, holds: 'yes' | 'no') =>
      ({ rule: { id, severity: 'block' }, holds }) as unknown as Finding
    expect(
      forCard([rule('image-type', 'yes'), rule('image-band', 'no'), rule('radio-battery', 'yes')]).held,
    ).toBe(1)
  })

  it('refuses what a rule between image and receiver forbids', () => {
    expect(saidOf({ typeId: 'tamsin-heron-8' }).refused).toContain('image-type')
    expect(saidOf({ region: 'hopping' }).refused).toEqual(['image-region'])
    expect(saidOf({ outsideBytes: 12 }).refused).toEqual(['image-place'])
    expect(saidOf({}, { hardwareRevision: 'Z' }).refused).toEqual(['image-hardware'])
  })

  it('refuses an image whose type nobody knows, for its image card would have to name one', () => {
    expect(saidOf({ typeId: 'unknown' }).refused).toEqual(['image-type'])
  })

  it('cautions where something is not known, or the image is no newer', () => {
    expect(saidOf({}, { hardwareRevision: 'unknown' })).toMatchObject({
      refused: [],
      cautions: ['image-hardware'],
    })
    expect(saidOf({}, { firmware: '2.4.0' })).toMatchObject({ refused: [], cautions: ['image-order'] })
  })

  it('takes an image that wants another one first only with a caution, and says what is only to be said', () => {
    const found = (id: string, severity: 'block' | 'warn', holds: 'no' | 'unknown') =>
      ({ rule: { id, severity }, holds, sentence: '', evidence: [], remedies: [] }) as unknown as Finding
    const step = found('stepping-stone', 'block', 'no')
    const unsigned = found('image-signed', 'warn', 'no')
    const forged = found('image-signature', 'block', 'no')
    expect(forCard([step, unsigned, forged])).toEqual({
      refused: [forged],
      cautions: [step],
      notes: [unsigned],
      later: [],
      held: 0,
    })
  })

  it('leaves what can be put right with the image on the card for later', () => {
    const radios = bench.radios.map(r => ({ ...r, batteryVolts: 6.5 }))
    expect(saidOf({}, {}, { ...bench, radios })).toEqual({
      refused: [],
      cautions: [],
      later: ['radio-battery'],
    })
  })
})
