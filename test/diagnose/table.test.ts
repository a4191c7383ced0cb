import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { CAUSES, findCause, PARTS } from '../../shared/diagnose/causes.ts'
import { FACTS, findFact } from '../../shared/diagnose/facts.ts'
import { modelSymptom, modelTable, priorsOf, systemCauses } from '../../shared/diagnose/model.ts'
import { fault, inCard, inModule } from '../../shared/diagnose/put.ts'
import { SYMPTOMS } from '../../shared/diagnose/report.ts'
import { twinOf } from '../../shared/diagnose/twin.ts'
import { LINK, OBSERVABLES, watch } from '../../shared/diagnose/watch.ts'
import { symptomWords } from '../../shared/diagnose/words.ts'
import { findings, RULES, ruleById } from '../../shared/fit/rules.ts'
import { situationOf } from '../../shared/fit/situation.ts'
import { checkBench } from '../../shared/model/bench.ts'
import { isKnown, type Route } from '../../shared/model/units.ts'

const bench = demoBench()
const known = bench.receivers.filter(r => isKnown(r.typeId))
const ROUTES: readonly Route[] = ['cable', 'wireless']
const twin = (route: Route, receiverId = 'wren-trainer') => {
  const made = twinOf(bench, receiverId, route)
  if (made === undefined) throw new Error('no such receiver')
  return made
}

describe('the twin of a table', () => {
  it('is in order for every receiver of the demo, by both routes: a valid bench, every rule holds, it ends updated', () => {
    for (const { id } of known)
      for (const route of ROUTES) {
        const made = twin(route, id)
        expect(checkBench(made.bench)).toMatchObject({ ok: true })
        const s = situationOf(made.bench, made.receiverId, route, undefined)!
        expect(findings(s).filter(f => f.holds !== 'yes')).toEqual([])
        const seen = watch(made, 1)
        expect(seen).toMatchObject({ symptom: 'none' })
        expect([...seen.unsound, ...seen.broken]).toEqual([])
      }
  })

  it('is not there without the receiver', () => {
    expect(twinOf(bench, 'nobody', 'cable')).toBeUndefined()
  })
})

describe('causes', () => {
  it('each have their own id, a part, words and a repair', () => {
    expect(new Set(CAUSES.map(c => c.id)).size).toBe(CAUSES.length)
    for (const cause of CAUSES) {
      expect(findCause(cause.id)).toBe(cause)
      expect(PARTS).toContain(cause.part)
      expect(cause.mechanism).toMatch(/\.$/)
      expect(cause.repair.label).toMatch(/\.$/)
      expect(cause.repair.minutes).toBeGreaterThan(0)
      expect(cause.perThousand).toBeGreaterThan(0)
    }
  })

  for (const route of ROUTES)
    for (const cause of CAUSES.filter(c => c.routes.includes(route)))
      it(`${cause.id} by ${route}: put on the table, it is seen; where it names a rule, that is the rule it breaks`, () => {
        const forms = cause.variants.map(put => watch(put(twin(route)), 1))
        expect(forms.some(form => form.symptom !== 'none')).toBe(true)
        // Another image on the card, and damage on the card, break no rule about the image that was chosen.
        if (cause.rule === undefined || cause.rule === 'image-type' || cause.rule === 'image-intact') return
        expect(ruleById(cause.rule)).toBeDefined()
        for (const form of forms) {
          expect([...form.broken.keys()]).toContain(cause.rule)
          expect(form.broken.get(cause.rule)).toBe(cause.side)
        }
      })

  it('break every rule that blocks and that somebody on the table stands by, but for four that others stand in for', () => {
    const stands = RULES.filter(r => r.severity === 'block' && r.enforcedBy !== 'computer').map(r => r.id)
    const broken = new Set(CAUSES.map(c => c.rule))
    const missing = stands.filter(id => !broken.has(id))
    // Size and label: an image of another type; load: the supply that gives way; conversion: refused on the computer.
    expect(missing.sort()).toEqual(['conversion-by-cable', 'image-label', 'image-size', 'supply-load'])
  })

  it('bring about every symptom there is, each by more than one route where it can be', () => {
    const seen = new Map<string, Set<Route>>()
    for (const route of ROUTES)
      for (const { forms } of modelTable(bench, 'wren-trainer', route)!.causes)
        for (const { symptom } of forms) seen.set(symptom, (seen.get(symptom) ?? new Set()).add(route))
    for (const symptom of SYMPTOMS)
      expect([...(seen.get(symptom) ?? [])].sort(), symptom).toEqual([...symptomWords[symptom].routes].sort())
  })
})

describe('what is seen of a session', () => {
  it('is the first thing that goes wrong: a card that is not there hides a module that is off', () => {
    const both = fault('card-not-seated')(inModule({ on: false })(twin('wireless')))
    expect(watch(both, 1).symptom).toBe('card-not-seen')
    expect(watch(inModule({ on: false })(twin('wireless')), 1).symptom).toBe('not-offered')
  })

  it('does not tell a lock from a full card by the symptom, but by the rules', () => {
    expect([...watch(inCard({ readOnly: true })(twin('cable')), 1).broken.keys()]).toEqual(['card-present'])
  })

  it('goes through at the second try where the receiver only settles slowly', () => {
    expect(watch(fault('slow-settle', '3')(twin('cable')), 1).unsound.has('second-try')).toBe(false)
    expect(watch(fault('chatty-sensor', '20')(twin('cable')), 1).unsound.has('second-try')).toBe(true)
  })
})

describe('facts', () => {
  it('each have their own id and say how they are looked up', () => {
    expect(new Set(FACTS.map(f => f.id)).size).toBe(FACTS.length)
    for (const fact of FACTS) {
      expect(findFact(fact.id)).toBe(fact)
      expect(fact.question).toMatch(/\?$/)
      expect(fact.look).toMatch(/[.”]$/)
      expect(fact.misread).toBeLessThan(0.5)
    }
  })

  it('take in everything that can be observed, and every rule of the link', () => {
    const observed = FACTS.flatMap(f => (f.by.kind === 'observable' ? [f.by.observable] : []))
    expect(observed.sort()).toEqual([...OBSERVABLES].sort())
    const rules = FACTS.flatMap(f => (f.by.kind === 'rule' ? [f.by.rule] : []))
    expect(rules).toEqual(expect.arrayContaining([...LINK]))
    for (const { rule } of CAUSES)
      if (rule !== undefined && rule !== 'image-intact' && rule !== 'cable-wires')
        expect(rules).toContain(rule)
  })
})

describe('the model of a symptom', () => {
  it('rules out what would have shown before, and keeps only facts that tell something apart', () => {
    const model = modelSymptom(modelTable(bench, 'wren-trainer', 'wireless')!, 'not-found')
    expect(model.excludes).toEqual(expect.arrayContaining(['module-off', 'card-not-seated', 'receiver-dead']))
    expect(model.shows).toEqual(expect.arrayContaining(['binding-lost', 'too-close', 'out-of-range']))
    for (const fact of model.facts) {
      const inBoth = model.shows.filter(id => fact.shows.includes(id)).length
      expect(inBoth).toBeGreaterThan(0)
      expect(inBoth).toBeLessThan(model.shows.length)
    }
  })

  it('tells any two explanations of a symptom apart by some fact', () => {
    for (const receiverId of ['wren-trainer', 'heron-biplane'])
      for (const route of ROUTES) {
        const table = modelTable(bench, receiverId, route)!
        for (const symptom of SYMPTOMS) {
          const { shows, facts } = modelSymptom(table, symptom)
          const looks = shows.map(id =>
            facts
              .filter(f => f.shows.includes(id))
              .map(f => f.spec.id)
              .join(),
          )
          expect(new Set(looks).size, `${receiverId}, ${route}, ${symptom}`).toBe(shows.length)
        }
      }
  })

  it('a swap that does not help speaks for everything but what was swapped', () => {
    const model = modelSymptom(modelTable(bench, 'wren-trainer', 'cable')!, 'no-answer')
    const swap = model.facts.find(f => f.spec.id === 'with-another-cable')
    expect(swap?.shows).toContain('chatty-sensor')
    expect(swap?.shows).not.toContain('signal-wire-open')
  })

  it('takes stated rates for priors, and one’s own counts the more of them there are', () => {
    const causes = CAUSES.filter(c => c.routes.includes('cable'))
    const total = causes.reduce((sum, c) => sum + c.perThousand, 0)
    const before = priorsOf(causes, {})
    expect([...before.values()].reduce((a, b) => a + b, 0)).toBeCloseTo(1, 12)
    expect(before.get('line-noise')).toBeCloseTo(18 / total, 12)
    const after = priorsOf(causes, { 'line-noise': 50 })
    // Fifty cases of one's own weigh as much as the stated rates: half way to certainty.
    expect(after.get('line-noise')).toBeCloseTo((18 / total + 1) / 2, 12)
    expect(systemCauses(causes, { 'line-noise': 1_000_000 }).find(c => c.id === 'line-noise')?.prior).toBe(
      0.9,
    )
  })
})
