import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { type Candidate, rankImages, verdictOf } from '../../shared/fit/rank.ts'
import { withUnit } from '../../shared/fit/rule.ts'
import { readyImage } from '../../shared/rehearse/image.ts'

const bench = demoBench()
const typeOf = (id: string) => bench.catalogue.receiverTypes.find(t => t.id === id)!
const all: Candidate[] = bench.images.map(i => ({
  id: i.id,
  name: i.name,
  facts: builtFacts(i, typeOf(i.typeId)),
}))

describe('ranking images for a receiver', () => {
  it('puts the newest image that breaks nothing first', () => {
    const ranked = rankImages(bench, 'wren-trainer', 'wireless', all)!
    expect(ranked[0]).toMatchObject({ candidate: { id: 'wren-6-2.4.0' }, verdict: 'fits' })
    expect(ranked.filter(r => r.verdict === 'fits').map(r => r.candidate.id)).toEqual([
      'wren-6-2.4.0',
      'wren-6-2.3.0',
      'wren-6-2.1.0',
    ])
  })

  it('never calls what is not known fine', () => {
    const ranked = rankImages(bench, 'wren-unmarked', 'cable', all)!
    expect(ranked.some(r => r.verdict === 'fits')).toBe(false)
    expect(ranked[0].verdict).toBe('not-known')
  })

  it('offers a plain update before a conversion that has no way back', () => {
    const ranked = rankImages(bench, 'heron-biplane', 'cable', all)!
    expect(ranked.slice(0, 3).map(r => r.candidate.id)).toEqual([
      'heron-8-1.7.0',
      'heron-8-1.6.0',
      'heron-8-2.0.0',
    ])
    expect(ranked[2].verdict).toBe('fits')
  })

  it('rules a conversion out by air, and says that the cable would do', () => {
    const ranked = rankImages(bench, 'heron-biplane', 'wireless', all)!
    const conversion = ranked.find(r => r.candidate.id === 'heron-8-2.0.0')!
    expect(conversion.verdict).toBe('does-not-fit')
    const finding = conversion.findings.find(f => f.rule.id === 'conversion-by-cable')!
    expect(finding.holds).toBe('no')
    expect(finding.remedies[0].route).toBe('cable')
  })

  it('does not change its order when the candidates come in another order', () => {
    const ids = (list: readonly Candidate[]) =>
      rankImages(bench, 'heron-scale', 'cable', list)!.map(r => r.candidate.id)
    expect(ids([...all].reverse())).toEqual(ids(all))
  })

  it('has no answer for a receiver that is not there', () =>
    expect(rankImages(bench, 'nobody', 'cable', all)).toBeUndefined())

  it('takes a warning for no reason to refuse', () => {
    const older = rankImages(bench, 'wren-glider', 'cable', all)!.find(
      r => r.candidate.id === 'wren-6-2.1.0',
    )!
    expect(older.findings.find(f => f.rule.id === 'image-order')?.holds).toBe('no')
    expect(verdictOf(older.findings)).toBe('fits')
  })

  it('sees in the specification what it would see in the image once built', () => {
    for (const image of bench.images) {
      const type = typeOf(image.typeId)
      const built = readyImage(bench, type, { kind: 'bench', imageId: image.id }, false)
      if (!built.ok) throw new Error(built.problems[0].message)
      const facts = builtFacts(image, type)
      expect(facts).toEqual({
        ...built.value.facts,
        moduleFirmware: image.moduleFirmware,
        radioSystem: image.radioSystem,
      })
    }
  })

  it('follows a change of the bench', () => {
    const off = withUnit(bench, 'modules', 'inner-tarn', { on: false })
    expect(rankImages(off, 'wren-trainer', 'wireless', all)![0].verdict).toBe('does-not-fit')
    expect(rankImages(off, 'wren-trainer', 'cable', all)![0].verdict).toBe('fits')
  })
})

describe('a signature in the ranking', () => {
  it('decides between images that are else alike, and never against a newer one', () => {
    const [newest] = demoBench().images
    const facts = builtFacts(newest, undefined)
    const of = (id: string, change: Partial<typeof facts>) => ({
      id,
      name: id,
      facts: { ...facts, ...change },
    })
    const ranked = rankImages(demoBench(), 'wren-trainer', 'cable', [
      of('built', {}),
      of('unsigned', { signature: 'missing' }),
      of('signed', { signature: 'good' }),
      of('newer-unsigned', { signature: 'missing', version: '9.0.0' }),
      of('wrong', { signature: 'bad', version: '9.9.9' }),
    ])
    expect(ranked?.map(r => r.candidate.id)).toEqual([
      'newer-unsigned',
      'signed',
      'built',
      'unsigned',
      'wrong',
    ])
    expect(ranked?.at(-1)?.findings.find(f => f.rule.id === 'image-signature')?.holds).toBe('no')
  })
})
