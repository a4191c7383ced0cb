import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { answeredOf } from '../../shared/fit/answered.ts'
import { type Answer, type Question, questionsFor } from '../../shared/fit/ask.ts'
import { questionsForType, TYPE_FACT } from '../../shared/fit/ask-type.ts'
import { builtFacts } from '../../shared/fit/built-facts.ts'
import { possibleTypes, withSeen } from '../../shared/fit/identify.ts'
import { LOOKS } from '../../shared/fit/looks.ts'
import { type Candidate, rankImages } from '../../shared/fit/rank.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { looksSchema, type Seen } from '../../shared/model/looks.ts'
import { UNKNOWN } from '../../shared/model/units.ts'

const bench = demoBench()
const { receiverTypes } = bench.catalogue
const images = (on: Bench): Candidate[] =>
  on.images.map(i => ({
    id: i.id,
    name: i.name,
    facts: builtFacts(
      i,
      on.catalogue.receiverTypes.find(t => t.id === i.typeId),
    ),
  }))
const all = images(bench)
const receiverOf = (on: Bench) => on.receivers.find(r => r.id === 'flea-market')!
const ask = (on: Bench, candidates = all) => questionsFor(on, 'flea-market', 'cable', candidates)

/** What an honest person with such a receiver in hand would see. */
const truth = (type: ReceiverType): Partial<Record<string, string>> => ({
  'receiver.seen.outputs': String(type.looks?.outputs),
  'receiver.seen.antennaCount': String(type.looks?.antennaCount),
  'receiver.seen.antennaKind': String(type.looks?.antennaKind),
  'receiver.seen.lengthMillimetres': String(type.looks?.lengthMillimetres),
  'receiver.seen.connectorId': type.connectorId,
  'receiver.seen.band': type.bands[0],
  'receiver.seen.antennaTip': type.bands[0] === '2.4GHz' ? 'short' : 'long',
})
const truthful = (type: ReceiverType, question: Question): Answer | undefined =>
  question.answers.find(a => a.value === truth(type)[question.fact])

/** Every order of some of the looks. */
function* orders<T>(items: readonly T[], most: number): Generator<T[]> {
  yield []
  if (most > 0)
    for (const item of items)
      for (const rest of orders(
        items.filter(other => other !== item),
        most - 1,
      ))
        yield [item, ...rest]
}

describe('asking for the type of a receiver without markings', () => {
  it('finds every type of the demo by its own questions, in as few as can be', () => {
    for (const type of receiverTypes) {
      let known = bench
      let asked = 0
      for (;;) {
        const [question] = ask(known)
        if (question.fact === TYPE_FACT) {
          expect(question.answers.map(a => a.value)).toEqual([type.id])
          known = question.answers[0].bench
          break
        }
        known = truthful(type, question)!.bench
        asked += 1
      }
      expect(asked).toBeLessThanOrEqual(Math.ceil(Math.log2(receiverTypes.length)))
      expect(receiverOf(known).typeId).toBe(type.id)
    }
  })

  it('rules the true type out by no truthful answer, whatever the order', () => {
    const facts = LOOKS.map(look => look.name)
    let tried = 0
    for (const type of receiverTypes)
      for (const order of orders(facts, 4)) {
        let known = bench
        for (const name of order) {
          const value = truth(type)[`receiver.seen.${name}`]!
          known = withSeen(known, receiverOf(known), LOOKS.find(l => l.name === name)!.read(value))
        }
        expect(possibleTypes(known, receiverOf(known)).possible).toContainEqual(type)
        tried += 1
      }
    // 1 + 7 + 7·6 + 7·6·5 + 7·6·5·4 orders of six types.
    expect(tried).toBe(6 * 1100)
  })

  it('finds the type in any catalogue, whatever its types state', () => {
    const known = <T>(arbitrary: fc.Arbitrary<T>) => fc.oneof(arbitrary, fc.constant(UNKNOWN))
    const looks = fc.record({
      outputs: known(fc.integer({ min: 2, max: 6 })),
      antennaCount: known(fc.integer({ min: 1, max: 3 })),
      antennaKind: known(fc.constantFrom('wire' as const, 'coaxial' as const, 'stub' as const)),
      lengthMillimetres: known(fc.integer({ min: 20, max: 60 })),
    })
    fc.assert(
      fc.property(fc.array(looks, { minLength: 1, maxLength: 8 }), fc.nat(7), (stated, at) => {
        const types = stated.map((look, i) => ({
          ...receiverTypes[0],
          id: `type-${i}`,
          looks: looksSchema.parse(look),
        }))
        const type = types[at % types.length]
        let on: Bench = { ...bench, images: [], catalogue: { ...bench.catalogue, receiverTypes: types } }
        for (let asked = 0; asked <= LOOKS.length; asked++) {
          const questions = ask(on, [])
          // What the type does not state, an honest person may still see; here they say what is offered, or nothing.
          const next = questions.find(q => truthful(type, q) !== undefined)
          if (next === undefined) break
          on = truthful(type, next)!.bench
        }
        const left = possibleTypes(on, receiverOf(on)).possible.map(t => t.id)
        expect(left).toContain(type.id)
        const which = ask(on, []).find(q => q.fact === TYPE_FACT)
        expect(which?.answers.map(a => a.value)).toEqual(left)
      }),
      { numRuns: 150 },
    )
  })

  it('asks for what tells most about the types and the images together', () => {
    const [first, ...rest] = ask(bench)
    // Outputs 6, 6, 4, 8, 10, 5 over six types, by Shannon's H (1948, section 6): two of them share an answer.
    const bits = (1 / 3) * Math.log2(3) + (4 / 6) * Math.log2(6)
    expect(first.fact).toBe('receiver.seen.outputs')
    expect(first.bits).toBeCloseTo(bits, 9)
    expect(first.imageBits).toBeCloseTo(bits, 9)
    for (const question of rest.slice(0, -1)) expect(question.bits).toBeLessThanOrEqual(bits + 1e-9)
    // Only the Wren has images: then which of the others it is tells nothing about the images.
    const wrens = images({ ...bench, images: bench.images.filter(i => i.typeId === 'aldwick-wren-6') })
    const [sharpest] = ask(bench, wrens)
    // Length 42 against 30, 34, 52, 55, 62 settles both, and tells H(1/6, 5/6) = 0.650 bits of images.
    expect(sharpest.fact).toBe('receiver.seen.lengthMillimetres')
    expect(sharpest.imageBits).toBeCloseTo(0.65, 4)
  })

  it('never sets the type by itself, and says why it offers one', () => {
    const only = withSeen(bench, receiverOf(bench), { outputs: 8 })
    expect(receiverOf(only).typeId).toBe(UNKNOWN)
    const [offer, ...checks] = ask(only)
    expect(offer.text).toBe('It looks like a Tamsin Curlew 12. Is it one?')
    expect(offer.look).toContain('8 servo outputs')
    expect(offer.answers[0].ruledOut).toContain('wren-6-2.4.0')
    // Whoever is not sure is offered more to look at.
    expect(checks.map(q => q.fact)).toContain('receiver.seen.antennaKind')
  })

  it('looks before it offers the only type of a bench', () => {
    const one: Bench = {
      ...bench,
      catalogue: { ...bench.catalogue, receiverTypes: receiverTypes.slice(0, 1) },
    }
    const questions = ask(one, [])
    expect(questions[0].fact).toBe('receiver.seen.outputs')
    expect(questions.at(-1)?.fact).toBe(TYPE_FACT)
  })

  it('does not ask for what no type states', () => {
    const silent: Bench = {
      ...bench,
      catalogue: {
        ...bench.catalogue,
        receiverTypes: receiverTypes.map(t => ({ ...t, looks: undefined })),
      },
    }
    // The band is stated by every type; a bared end is one only where the type has such an antenna.
    expect(ask(silent).map(q => q.fact)).toEqual(['receiver.seen.band', TYPE_FACT])
  })

  it('takes a number that is not among the answers', () => {
    const { other } = ask(bench)[0]
    const seven = other!.answer(7)
    expect(seven.leaves).toEqual([])
    expect(ask(seven.bench)).toEqual([])
    expect(other!.answer(4).leaves).toEqual(['aldwick-finch-4'])
  })

  it('goes on with the questions about a known type once somebody has said it', () => {
    const only = withSeen(bench, receiverOf(bench), { outputs: 8 })
    const said = ask(only)[0].answers[0].bench
    expect(ask(said).map(q => q.fact)).toContain('receiver.region')
    expect(questionsForType(only, receiverOf(only), 'cable', [])[0].fact).toBe(TYPE_FACT)
  })
})

describe('ranking for a receiver of unknown type', () => {
  const verdicts = (on: Bench) =>
    new Map(rankImages(on, 'flea-market', 'cable', images(on))!.map(r => [r.candidate.id, r.verdict]))

  it('calls nothing fine, and rules out only what fits none of the possible types', () => {
    expect(new Set(verdicts(bench).values())).toEqual(new Set(['not-known']))
    const two = withSeen(bench, receiverOf(bench), { outputs: 6 })
    expect(verdicts(two).get('heron-8-1.7.0')).toBe('not-known')
    expect(verdicts(two).get('finch-4-1.2.0')).toBe('does-not-fit')
  })

  it('agrees with the ranking for each possible type', () => {
    for (const look of LOOKS)
      for (const { value } of look.choices(receiverTypes, bench.catalogue)) {
        const on = withSeen(bench, receiverOf(bench), look.read(value))
        const { possible } = possibleTypes(on, receiverOf(on))
        if (possible.length === 0) continue
        const each = possible.map(type => {
          const typed = on.receivers.map(r => (r.id === 'flea-market' ? { ...r, typeId: type.id } : r))
          return verdicts({ ...on, receivers: typed })
        })
        for (const [id, verdict] of verdicts(on))
          expect(verdict).toBe(
            each.every(one => one.get(id) === 'does-not-fit') ? 'does-not-fit' : 'not-known',
          )
      }
  })

  it('leaves undecided what no type of the bench explains, and what nobody has said anything of', () => {
    const none = withSeen(bench, receiverOf(bench), { outputs: 7 })
    expect(new Set(verdicts(none).values())).toEqual(new Set(['not-known']))
    const two = withSeen(bench, receiverOf(bench), { outputs: 6 })
    const [{ verdict, findings }] = rankImages(two, 'flea-market', 'cable', [
      { id: 'x', name: 'x', facts: { ...all[0].facts, typeId: UNKNOWN } },
    ])!
    expect(verdict).toBe('not-known')
    expect(findings.map(f => f.rule.id)).toEqual(['image-type'])
    const foreign = { ...all[0].facts, typeId: 'another-makers' }
    expect(
      rankImages(two, 'flea-market', 'cable', [{ id: 'x', name: 'x', facts: foreign }])![0].verdict,
    ).toBe('not-known')
  })
})

describe('what was answered', () => {
  it('is listed with its way back, in any order', () => {
    const seen: Partial<Seen> = { outputs: 6, lengthMillimetres: 42 }
    const only = withSeen(bench, receiverOf(bench), seen)
    const said = ask(only)[0].answers[0].bench
    const heard = ask(said).find(q => q.fact === 'receiver.region')!.answers[0].bench
    const stands = answeredOf(heard, 'flea-market', ['receiver.hardwareRevision', 'receiver.region'])
    expect(stands.map(a => a.label)).toEqual([
      '6 servo outputs',
      'about 42 mm long',
      'Aldwick Wren 6',
      'listen-before-talk',
    ])
    for (const { fact, takenBack } of stands) {
      const left = answeredOf(takenBack, 'flea-market', ['receiver.region'])
      expect(left.map(a => a.fact)).not.toContain(fact)
    }
    const untyped = stands.find(a => a.fact === TYPE_FACT)!.takenBack
    expect(receiverOf(untyped).typeId).toBe(UNKNOWN)
    expect(receiverOf(untyped).seen).toMatchObject(seen)
    // What was said beside the type still stands, and can still be taken back.
    expect(answeredOf(untyped, 'flea-market', ['receiver.region']).map(a => a.label)).toContain(
      'listen-before-talk',
    )
  })

  it('has words and a way back for whatever is asked of a receiver of known type', () => {
    const unknown = {
      receivers: ['hardwareRevision', 'region', 'generation', 'firmware'],
      modules: ['firmware', 'region', 'generation'],
      radios: ['systemVersion'],
    } as const
    const needy = all.map(c => ({
      ...c,
      facts: { ...c.facts, radioSystem: '>=3.0.0', hardwareRevisions: ['B'] },
    }))
    const asked = new Set<string>()
    for (const [list, keys] of Object.entries(unknown))
      for (const key of keys) {
        const units = bench[list as keyof typeof unknown].map(unit => ({ ...unit, [key]: UNKNOWN }))
        const start = { ...bench, [list]: units } as Bench
        for (const question of questionsFor(start, 'wren-trainer', 'wireless', needy)) {
          asked.add(question.fact)
          const [answered] = answeredOf(question.answers[0].bench, 'wren-trainer', [question.fact])
          expect(answered.label).not.toMatch(/undefined|unknown/)
          expect(answered.takenBack).toEqual(start)
          expect(answeredOf(start, 'wren-trainer', [question.fact])).toEqual([])
        }
      }
    expect(asked.size).toBe(8)
    expect(answeredOf(bench, 'nobody', [])).toEqual([])
  })
})
