import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { findCause } from '../../shared/diagnose/causes.ts'
import { customerSays } from '../../shared/diagnose/customer.ts'
import {
  type Exercise,
  exerciseSchema,
  type PracticeRequest,
  type PracticeStep,
} from '../../shared/diagnose/exercise.ts'
import { FACTS, findFact } from '../../shared/diagnose/facts.ts'
import { hideFaults } from '../../shared/diagnose/hide.ts'
import { spentOn } from '../../shared/diagnose/judge.ts'
import { modelTable } from '../../shared/diagnose/model.ts'
import { LIES, practise } from '../../shared/diagnose/practise.ts'
import { SYMPTOMS } from '../../shared/diagnose/report.ts'
import { afterLook, beginSearch, consider } from '../../shared/diagnose/search.ts'
import { solve } from '../../shared/diagnose/solve.ts'

const bench = demoBench()
const receiverId = 'wren-trainer'
const tables = {
  cable: modelTable(bench, receiverId, 'cable')!,
  wireless: modelTable(bench, receiverId, 'wireless')!,
}
const on = { bench, receiverId, modelOf: (route: 'cable' | 'wireless') => tables[route] }
type Setup = Omit<PracticeRequest, 'steps'>
const one: Setup = { seed: 3, faults: 'one', lies: false }

function play(setup: Setup, steps: readonly PracticeStep[] = []): Exercise {
  const result = practise({ ...setup, steps: [...steps] }, on)
  if (!result.ok) throw new Error(result.problems.map(p => p.message).join())
  return exerciseSchema.parse(result.value)
}
const truthOf = ({ seed, faults }: Setup) =>
  hideFaults(bench, receiverId, seed, { faults: faults === 'two' ? 2 : 1 })!.truth
const look = (fact: string): PracticeStep => ({ do: 'look', fact })
const repair = (...causes: string[]): PracticeStep => ({ do: 'repair', causes })

/** Does what each hint says until it is over. */
function followHints(setup: Setup): { steps: PracticeStep[]; exercise: Exercise } {
  const steps: PracticeStep[] = []
  for (;;) {
    const hinted = play(setup, [...steps, { do: 'hint' }]).done.at(-1)
    if (hinted?.do !== 'hint' || hinted.next.do === 'ask') throw new Error('no way out')
    const { next } = hinted
    steps.push(next.do === 'look' ? look(next.fact) : repair(...next.members))
    const exercise = play(setup, steps)
    if (exercise.end !== null) return { steps, exercise }
  }
}

describe('an exercise', () => {
  it('begins with a symptom in a customer’s words, hides what it is, and is the same for the same number', () => {
    for (let seed = 1; seed <= 12; seed++) {
      const setup: Setup = { seed, faults: seed % 2 === 0 ? 'one' : 'two', lies: seed % 3 === 0 }
      const begun = play(setup)
      expect(begun).toEqual(play(setup))
      expect(begun).toMatchObject({ now: begun.first, spent: { minutes: 0, looks: 0 }, end: null, done: [] })
      const hidden = hideFaults(bench, receiverId, seed, { faults: seed % 2 === 0 ? 1 : 2 })!
      expect(begun.first).toBe(hidden.symptom)
      const given = play(setup, [{ do: 'give-up' }])
      expect(given.end?.truth.map(t => t.id)).toEqual(hidden.truth)
      expect(given).toMatchObject({ now: begun.first, end: { works: false } })
      expect(begun.repairs.map(r => r.cause)).toEqual(tables[begun.route].causes.map(c => c.cause.id))
    }
  })

  it('answers a look by what is really there, and counts its minutes', () => {
    for (let seed = 1; seed <= 10; seed++) {
      const setup: Setup = { ...one, seed }
      const hidden = hideFaults(bench, receiverId, seed, { faults: 1 })!
      const { facts } = play(setup)
      const after = play(
        setup,
        facts.map(f => look(f.id)),
      )
      for (const fact of after.facts) {
        const isSound = fact.seen[0].answer === fact.sound
        expect(isSound, fact.id).toBe(hidden.reading(fact.id) === 'sound')
        expect(fact.seen).toHaveLength(1)
      }
      expect(after.spent).toEqual({
        minutes: facts.reduce((sum, f) => sum + f.minutes, 0),
        looks: facts.length,
        repairs: 0,
        hints: 0,
      })
    }
  })

  it('works once everything is put right, and says what a wrong repair left', () => {
    const [cause] = truthOf(one)
    const wrong = play(one).repairs.find(r => r.cause !== cause && r.reversible)!
    const still = play(one, [repair(wrong.cause)])
    expect(still).toMatchObject({ now: still.first, end: null })
    expect(still.done).toMatchObject([{ change: 'same', minutes: wrong.minutes + still.tryMinutes }])
    expect(still.repairs.filter(r => r.isDone).map(r => r.cause)).toEqual([wrong.cause])
    const works = play(one, [repair(wrong.cause), repair(wrong.cause), repair(cause)])
    expect(works).toMatchObject({ now: 'none', facts: [], repairs: [] })
    expect(works.end).toMatchObject({ works: true, truth: [{ id: cause, wasRepaired: true }] })
    expect(works.end?.needlessRepairs.map(r => r.label)).toEqual([wrong.repair, wrong.repair])
    expect(works.spent.minutes).toBe(
      2 * wrong.minutes + (findCause(cause)?.repair.minutes ?? 0) + 3 * works.tryMinutes,
    )
  })

  it('goes on with another symptom where one fault hid another, and forgets what was seen before it', () => {
    const hides = Array.from({ length: 40 }, (_, seed) => ({ seed, faults: 'two', lies: false }) as const)
    const found = hides
      .flatMap(setup => truthOf(setup).map(cause => ({ setup, cause, after: play(setup, [repair(cause)]) })))
      .find(({ after }) => after.now !== 'none' && after.now !== after.first)!
    expect(found.after.done).toMatchObject([{ do: 'repair', change: 'other', after: found.after.now }])
    const fact = found.after.facts[0].id
    const seen = play(found.setup, [repair(found.cause), look(fact)])
    expect(seen.facts[0].seen).toMatchObject([{ isOld: false }])
    const rest = truthOf(found.setup).filter(id => id !== found.cause)
    expect(play(found.setup, [repair(found.cause), look(fact), repair(...rest)]).end?.works).toBe(true)
  })

  it('gets it going by hints alone as the engine does by itself, and finds nothing to blame', () => {
    for (let seed = 1; seed <= 8; seed++) {
      const setup: Setup = { seed, faults: seed % 2 === 0 ? 'one' : 'either', lies: seed % 3 === 0 }
      const { exercise, steps } = followHints(setup)
      const { works, path, ...engine } = exercise.end!.engine
      expect(works).toBe(true)
      expect(exercise.spent).toEqual(engine)
      expect(path).toEqual(exercise.done)
      expect(exercise.end).toMatchObject({ needlessLooks: [], dangers: [] })
      expect(steps.length).toBe(path.length)
      if (setup.lies) continue
      const hidden = hideFaults(bench, receiverId, seed, setup.faults === 'one' ? { faults: 1 } : {})!
      expect(solve(hidden, tables[hidden.route])).toMatchObject({ works, minutes: engine.minutes })
    }
  })

  it('names a look that can hurt while a safe one was left, and one that could not save its time', () => {
    const begun = Array.from({ length: 40 }, (_, i) => ({ ...one, seed: i + 1 }))
      .map(setup => ({ setup, exercise: play(setup) }))
      .find(({ setup, exercise }) => {
        const { advice } = consider(searchOf(setup))
        return advice.next.do === 'look' && exercise.facts.some(f => f.risk !== null)
      })!
    const { advice } = consider(searchOf(begun.setup))
    const risky = begun.exercise.facts.find(f => f.risk !== null)!
    const { dangers } = play(begun.setup, [look(risky.id), { do: 'give-up' }]).end!
    const safe = advice.looks.find(l => !l.hurts)!
    expect(dangers).toEqual([
      { question: risky.question, risk: risky.risk, safe: findFact(safe.fact)?.question },
    ])
    const worthless = advice.looks.filter(l => l.savesMinutes <= 0).map(l => l.fact)
    expect(worthless.length).toBeGreaterThan(0)
    for (const fact of advice.looks.map(l => l.fact)) {
      const { needlessLooks } = play(begun.setup, [look(fact), { do: 'give-up' }]).end!
      expect(needlessLooks).toHaveLength(worthless.includes(fact) ? 1 : 0)
    }
  })

  it('lies as often as is said, to everybody in the same way, in whatever order they look', () => {
    const counted = { looks: 0, lies: 0 }
    for (let seed = 1; seed <= 80; seed++) {
      const ids = play({ ...one, seed }).facts.map(f => f.id)
      const steps = [...ids, ...ids].map(look)
      const seen = (setup: Setup, order: readonly PracticeStep[]) =>
        new Map(play(setup, order).facts.map(f => [f.id, f.seen.map(s => s.answer)]))
      const lying = seen({ ...one, seed, lies: true }, steps)
      expect(seen({ ...one, seed, lies: true }, steps.toReversed())).toEqual(lying)
      for (const [id, truly] of seen({ ...one, seed }, steps))
        for (const [i, answer] of truly.entries()) {
          counted.looks++
          if (lying.get(id)?.[i] !== answer) counted.lies++
        }
    }
    // Four standard deviations of a binomial distribution about its mean.
    const deviation = Math.sqrt(counted.looks * LIES * (1 - LIES))
    expect(Math.abs(counted.lies - counted.looks * LIES)).toBeLessThan(4 * deviation)
  })

  it('refuses what there is not, and anything after the end, and names the step', () => {
    const [cause] = truthOf(one)
    const refused = (...steps: PracticeStep[]) => practise({ ...one, steps }, on)
    const withCode = (code: string, field: string) => ({ ok: false, problems: [{ code, field }] })
    expect(refused(look('nonsense'))).toMatchObject(withCode('practise.fact', 'steps[0]'))
    const closed = FACTS.find(f => !play(one).facts.some(open => open.id === f.id))!
    expect(refused(look(closed.id))).toMatchObject(withCode('practise.fact', 'steps[0]'))
    expect(refused({ do: 'hint' }, repair('nonsense'))).toMatchObject(withCode('practise.cause', 'steps[1]'))
    expect(refused(repair(cause), { do: 'hint' })).toMatchObject(withCode('practise.over', 'steps[1]'))
    expect(refused({ do: 'give-up' }, { do: 'give-up' })).toMatchObject(withCode('practise.over', 'steps[1]'))
    expect(practise({ ...one, steps: [] }, { ...on, receiverId: 'nobody' }).ok).toBe(false)
  })
})

const searchOf = ({ seed }: Setup) => {
  const hidden = hideFaults(bench, receiverId, seed, { faults: 1 })!
  return beginSearch(hidden, tables[hidden.route])
}

describe('the parts of a practice', () => {
  it('tells of every symptom in the customer’s words, the same for the same number', () => {
    for (const symptom of SYMPTOMS) {
      const said = Array.from({ length: 20 }, (_, seed) => customerSays(symptom, seed))
      expect(new Set(said).size).toBe(2)
      expect(customerSays(symptom, 7)).toBe(said[7])
    }
  })

  it('counts hints apart from what takes time', () => {
    expect(spentOn(['hint', { do: 'look', fact: 'line-quiet', answer: 'no' }, 'hint'])).toEqual({
      minutes: findFact('line-quiet')?.minutes,
      looks: 1,
      repairs: 0,
      hints: 2,
    })
  })

  it('takes a look into account when it thinks of the next', () => {
    const begun = Array.from({ length: 40 }, (_, seed) => searchOf({ ...one, seed })).find(
      search => consider(search).advice.next.do === 'look',
    )!
    const { next } = consider(begun).advice
    if (next.do !== 'look') throw new Error('a look was expected')
    const after = consider(afterLook(begun, next.fact, 'yes'))
    expect(after.advice.looks.find(l => l.again)?.fact).toBe(next.fact)
  })
})
