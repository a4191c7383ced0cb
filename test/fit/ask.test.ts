import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { questionsFor } from '../../shared/fit/ask.ts'
import { ASKABLE } from '../../shared/fit/askable.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { type Candidate, rankImages } from '../../shared/fit/rank.ts'
import { withUnit } from '../../shared/fit/rule.ts'

const bench = demoBench()
const typeOf = (id: string) => bench.catalogue.receiverTypes.find(t => t.id === id)
const all: Candidate[] = bench.images.map(i => ({
  id: i.id,
  name: i.name,
  facts: builtFacts(i, typeOf(i.typeId)),
}))

describe('what to look up next', () => {
  it('asks nothing when everything that matters is known', () =>
    expect(questionsFor(bench, 'wren-trainer', 'cable', all)).toEqual([]))

  it('asks for what tells most, and leads to an image that fits', () => {
    let known = bench
    const asked: string[] = []
    for (let i = 0; i < 8; i++) {
      const [question] = questionsFor(known, 'wren-unmarked', 'wireless', all)
      if (question === undefined) break
      asked.push(question.fact)
      const useful = question.answers.find(a => a.ruledOut.length === 0) ?? question.answers[0]
      known = useful.bench
    }
    expect(asked).toContain('receiver.region')
    expect(new Set(asked).size).toBe(asked.length)
    expect(rankImages(known, 'wren-unmarked', 'wireless', all)![0].verdict).toBe('fits')
  })

  it('says of each answer what ranking says then, though answers that come to the same are tried once', () => {
    const stepping = bench.images.flatMap((image, i) =>
      [0, 1, 2, 3].map(k => ({
        ...image,
        id: `${image.id}-${k}`,
        version: `${1 + ((i + k) % 3)}.${k}.${i % 5}`,
        ...(k === 2 ? { receiverFirmware: '>=2.0.0' } : {}),
      })),
    )
    const candidates = stepping.map(i => ({ id: i.id, name: i.name, facts: builtFacts(i, typeOf(i.typeId)) }))
    const open = (rankImages(bench, 'wren-unmarked', 'wireless', candidates) ?? [])
      .filter(r => r.verdict === 'not-known')
      .map(r => r.candidate)
    const questions = questionsFor(bench, 'wren-unmarked', 'wireless', candidates)
    expect(questions.map(q => q.fact)).toEqual(
      expect.arrayContaining(ASKABLE.filter(a => a.sameAs).map(a => a.fact)),
    )
    const outcomes = new Set<string>()
    for (const { answers } of questions)
      for (const answer of answers) {
        const ranked = rankImages(answer.bench, 'wren-unmarked', 'wireless', open)!
        const named = (verdict: string) => ranked.filter(r => r.verdict === verdict).map(r => r.candidate.id)
        expect([...answer.fits].sort()).toEqual(named('fits').sort())
        expect([...answer.ruledOut].sort()).toEqual(named('does-not-fit').sort())
        outcomes.add(named('does-not-fit').sort().join())
      }
    expect(outcomes.size).toBeGreaterThan(1)
  })

  it('rates a question by the bits of its answers: two that differ are one bit', () => {
    const unknownRegion = withUnit(bench, 'receivers', 'wren-trainer', { region: 'unknown' })
    const [question] = questionsFor(unknownRegion, 'wren-trainer', 'cable', all)
    expect(question.fact).toBe('receiver.region')
    expect(question.bits).toBe(1)
    expect(question.answers.find(a => a.value === 'lbt')?.fits).toContain('wren-6-2.4.0')
    expect(question.answers.find(a => a.value === 'hopping')?.ruledOut).toContain('wren-6-2.4.0')
  })

  it('asks until something fits where several things have to be known together', () => {
    const unknown = {
      hardwareRevision: 'unknown',
      firmware: 'unknown',
      region: 'unknown',
      generation: 'unknown',
    }
    for (const route of ['cable', 'wireless'] as const) {
      let known = withUnit(bench, 'receivers', 'wren-trainer', unknown as object)
      for (let asked = 0; asked < 8; asked++) {
        const [question] = questionsFor(known, 'wren-trainer', route, all)
        if (question === undefined) break
        // As good an answer as there is: what rules out least, the latest in the list where several do.
        const best = question.answers.toSorted((a, b) => a.ruledOut.length - b.ruledOut.length)[0]
        known = best.bench
      }
      expect(rankImages(known, 'wren-trainer', route, all)![0].verdict).toBe('fits')
    }
  })

  it('does not ask for what no answer would change', () => {
    // By cable it does not matter how the module shares the air.
    const unknownModule = withUnit(bench, 'modules', 'inner-tarn', { region: 'unknown' })
    expect(questionsFor(unknownModule, 'wren-trainer', 'cable', all)).toEqual([])
    expect(questionsFor(unknownModule, 'wren-trainer', 'wireless', all)[0].fact).toBe('module.region')
  })

  it('knows no questions about a receiver that is not there', () =>
    expect(questionsFor(bench, 'nobody', 'cable', all)).toEqual([]))
})
