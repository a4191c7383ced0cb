import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { findingsOfAll, imagesOf } from '../../shared/fit/many.ts'
import { type Candidate, rankImages, standings, verdictOf } from '../../shared/fit/rank.ts'
import type { Finding } from '../../shared/fit/rule.ts'
import { withUnit } from '../../shared/fit/rule.ts'
import { findings, RULES } from '../../shared/fit/rules.ts'
import { type ImageFacts, situationOf } from '../../shared/fit/situation.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { isKnown } from '../../shared/model/units.ts'
import { anyFacts } from '../support/image-facts.ts'

const demo = demoBench()
const routes = fc.constantFrom('cable' as const, 'wireless' as const)
const receivers = fc.constantFrom(...demo.receivers.filter(r => isKnown(r.typeId)).map(r => r.id))
const benches: fc.Arbitrary<Bench> = fc.constantFrom(
  demo,
  withUnit(demo, 'modules', 'inner-tarn', { firmware: 'unknown', on: false }),
  withUnit(demo, 'cards', 'card-tarn', { freeBytes: 300_000 }),
  { ...demo, wiring: { ...demo.wiring, cableFeed: 'both', cableId: 'signal-cable' } },
)

/** A finding in all that can be seen of it, with what its remedies do. */
const seen = (found: readonly Finding[], bench: Bench) =>
  found.map(f => ({
    ...f,
    rule: f.rule.id,
    remedies: f.remedies.map(r => ({ ...r, apply: r.apply(bench) })),
  }))

describe('asking the rules of many images at once', () => {
  it('finds what asking of each one by itself finds', () => {
    fc.assert(
      fc.property(
        benches,
        receivers,
        routes,
        fc.array(anyFacts, { maxLength: 12 }),
        (bench, id, route, facts) => {
          const s = situationOf(bench, id, route, undefined)!
          const alone = facts.map(image => findings({ ...s, image }))
          const together = findingsOfAll(s, imagesOf(facts))
          expect(together.map(f => seen(f, bench))).toEqual(alone.map(f => seen(f, bench)))
          const standing = standings(facts)(s)
          expect(standing.verdicts).toEqual(alone.map(verdictOf))
          const undecided = alone.flat().filter(f => f.holds === 'unknown' && f.rule.severity === 'block')
          expect(standing.undecidedRules).toBe(undecided.length)
        },
      ),
      { numRuns: 150 },
    )
  })

  it('rests on what each rule says that it looks at: none looks at more of the image', () => {
    fc.assert(
      fc.property(benches, receivers, routes, anyFacts, (bench, id, route, facts) => {
        for (const rule of RULES) {
          const looked = new Set<string>()
          const image = new Proxy(facts, {
            get: (target, name) => {
              looked.add(String(name))
              return Reflect.get(target, name)
            },
          })
          const s = situationOf(bench, id, route, image)!
          if (rule.applies(s)) rule.check(s)
          const said: readonly (keyof ImageFacts)[] = rule.looksAt ?? []
          expect(
            [...looked].filter(name => !said.some(field => field === name)),
            rule.id,
          ).toEqual([])
        }
      }),
      { numRuns: 300 },
    )
  })

  it('ranks thousands as it ranks them in small lots', () => {
    const facts = fc.sample(anyFacts, { numRuns: 400, seed: 7 })
    const candidates = facts.map((f, i): Candidate => ({ id: `i${i}`, name: `Image ${i}`, facts: f }))
    const whole = rankImages(demo, 'wren-trainer', 'wireless', candidates)!
    const lots = candidates.flatMap(c => rankImages(demo, 'wren-trainer', 'wireless', [c])!)
    const byId = new Map(lots.map(r => [r.candidate.id, r]))
    for (const one of whole) {
      const alone = byId.get(one.candidate.id)!
      expect([one.verdict, seen(one.findings, demo)]).toEqual([alone.verdict, seen(alone.findings, demo)])
    }
    expect(whole.map(r => r.verdict)).toEqual(
      [...whole].map(r => r.verdict).sort((a, b) => order.indexOf(a) - order.indexOf(b)),
    )
  })

  it('has nothing to say of no images', () => {
    const s = situationOf(demo, 'wren-trainer', 'cable', undefined)!
    expect(findingsOfAll(s, imagesOf([]))).toEqual([])
    expect(standings([])(s)).toEqual({ verdicts: [], undecidedRules: 0 })
  })
})

const order = ['fits', 'not-known', 'does-not-fit']
