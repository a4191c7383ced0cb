import { describe, expect, it } from 'vitest'
import { foundRepairs, partWords, repairsByPart } from '../../../renderer/diagnose/practice/repair-groups.ts'
import {
  drawnSeed,
  headingOfEnd,
  readSeed,
  sayDone,
  spentWords,
  verdict,
} from '../../../renderer/diagnose/practice/results.ts'
import {
  arrived,
  isBehind,
  noPractice,
  type Practice,
  takenBack,
} from '../../../renderer/diagnose/practice/use-practice.ts'
import { demoBench } from '../../../shared/demo/bench.ts'
import { PARTS } from '../../../shared/diagnose/causes.ts'
import type { Exercise, PracticeSetup, PracticeStep } from '../../../shared/diagnose/exercise.ts'
import { hideFaults } from '../../../shared/diagnose/hide.ts'
import { modelTable } from '../../../shared/diagnose/model.ts'
import { practise } from '../../../shared/diagnose/practise.ts'
import type { SymptomId } from '../../../shared/diagnose/report.ts'
import { symptomWords } from '../../../shared/diagnose/words.ts'

const bench = demoBench()
const receiverId = 'wren-trainer'
const tables = {
  cable: modelTable(bench, receiverId, 'cable'),
  wireless: modelTable(bench, receiverId, 'wireless'),
}
/** An exercise in which one fault hides another: with that one put right, something else is seen. */
const hiding = Array.from({ length: 200 }, (_, seed) => ({
  seed,
  hidden: hideFaults(bench, receiverId, seed, { faults: 2 }),
})).flatMap(({ seed, hidden }) =>
  hidden === undefined
    ? []
    : hidden.truth
        .map(first => ({ seed, first, next: hidden.after([first]), symptom: hidden.symptom }))
        .filter(({ next, symptom }) => next !== 'none' && next !== symptom),
)[0]
const setup: PracticeSetup = { seed: hiding.seed, faults: 'two', lies: false }
function play(...steps: PracticeStep[]): Exercise {
  const done = practise({ ...setup, steps }, { bench, receiverId, modelOf: route => tables[route] })
  if (!done.ok) throw new Error(done.problems[0].message)
  return done.value
}
const begun = play()
const GIVE_UP: PracticeStep = { do: 'give-up' }
const given = play(GIVE_UP)
const truth = given.end!.truth.map(t => t.id)

describe('an exercise in the window', () => {
  const started: Practice = { ...noPractice, setup }

  it('waits for what its steps bring, and takes back a step that was refused', () => {
    expect(isBehind(noPractice)).toBe(false)
    expect(isBehind(started)).toBe(true)
    const shown = arrived(started, begun)
    expect(isBehind(shown)).toBe(false)
    const stepped: Practice = { ...shown, steps: [{ do: 'hint' }] }
    expect(isBehind(stepped)).toBe(true)
    expect(takenBack(stepped)).toEqual(shown)
    expect(isBehind(takenBack(stepped))).toBe(false)
  })

  it('is not begun where it could not be, and keeps what was finished before', () => {
    const failed = takenBack({ ...started, results: arrived(started, given).results })
    expect(failed.setup).toBeUndefined()
    expect(failed.results).toHaveLength(1)
  })

  it('goes into the list once it is over, the latest first, and not before', () => {
    const shown = arrived(started, begun)
    expect(shown.results).toEqual([])
    const over = arrived({ ...shown, steps: [GIVE_UP] }, given)
    expect(over.results).toMatchObject([{ number: 1, setup, works: false, spent: { minutes: 0 } }])
    const works = play({ do: 'repair', causes: truth })
    const again = arrived({ ...over, steps: [{ do: 'repair', causes: truth }] }, works)
    expect(again.results).toMatchObject([
      { number: 2, works: true, engineMinutes: works.end?.engine.minutes },
      { number: 1, works: false },
    ])
  })
})

describe('what the screen of a practice says', () => {
  it('takes a whole number of up to six digits, or none', () => {
    expect(['', '  ', '0', ' 42 ', '999999'].map(readSeed)).toEqual([undefined, undefined, 0, 42, 999_999])
    for (const wrong of ['1000000', '-1', '1.5', '1e3', 'seven', '0x10'])
      expect(readSeed(wrong)).toMatch(/^Write a whole number/)
  })

  it('draws numbers that are short enough to be told', () => {
    const drawn = [0, 1, 9998, 9999, 2 ** 32 - 1].map(drawnSeed)
    for (const seed of drawn) expect(readSeed(String(seed))).toBe(seed)
    expect(Math.max(...drawn)).toBeLessThan(10_000)
    expect(Math.min(...drawn)).toBe(1)
  })

  it('counts in words', () => {
    expect(spentWords({ minutes: 9, looks: 1, repairs: 2, hints: 0 })).toBe('1 look, 2 repairs, no hints')
  })

  it('says what a look or a repair brought', () => {
    const { facts, repairs } = begun
    const wrong = repairs.find(r => !truth.includes(r.cause) && r.reversible)!
    const [looked, still, works] = play(
      { do: 'look', fact: facts[0].id },
      { do: 'repair', causes: [wrong.cause] },
      { do: 'repair', causes: truth },
    ).done
    expect(sayDone(looked)).toMatch(new RegExp(`^${facts[0].question.replace('?', '\\?')} (Yes|No)\\.$`))
    expect(sayDone(still)).toBe(`${wrong.repair} Tried again: it is still the same.`)
    expect(sayDone(works)).toMatch(/Tried again: it works\.$/)
    const then = symptomWords[hiding.next as SymptomId].label
    expect(sayDone(play({ do: 'repair', causes: [hiding.first] }).done[0])).toContain(
      `Tried again: now something else is seen. ${then}.`,
    )
    expect(sayDone(play({ do: 'hint' }).done[0])).toMatch(/^A hint: (look|repair)\. \S/)
  })

  it('compares with the engine, and names all that it was', () => {
    const end = given.end!
    const [one, two] = end.truth.map(t => t.label)
    expect(headingOfEnd(end)).toBe(
      `Given up. It was: ${one} and ${two.charAt(0).toLowerCase()}${two.slice(1)}`,
    )
    expect(verdict(given.spent, end)).toBe(`The engine gets it going in ${end.engine.minutes} minutes.`)
    const works = play({ do: 'repair', causes: truth })
    const against = (minutes: number) =>
      verdict({ ...works.spent, minutes: works.end!.engine.minutes + minutes }, works.end!)
    expect(against(0)).toContain('as long as the engine')
    expect(against(1)).toContain('1 minute more than the engine')
    expect(against(-2)).toContain('2 minutes less than the engine')
    expect(verdict(given.spent, { ...end, engine: { ...end.engine, works: false } })).toMatch(/did not/)
  })

  it('lists every repair once, by part, and finds it by any of its words', () => {
    expect(Object.keys(partWords).sort()).toEqual([...PARTS].sort())
    const grouped = repairsByPart(begun.repairs)
    expect(grouped.flatMap(([, some]) => some).sort(byCause)).toEqual([...begun.repairs].sort(byCause))
    expect(foundRepairs(begun.repairs, ' ')).toBeUndefined()
    for (const one of begun.repairs) {
      const backwards = one.label.toUpperCase().split(' ').reverse().join('  ')
      const found = foundRepairs(begun.repairs, backwards)
      expect(found).toContain(one)
      expect(found?.length).toBeLessThan(begun.repairs.length / 2)
    }
    expect(foundRepairs(begun.repairs, 'carburettor')).toEqual([])
  })
})

const byCause = (a: { cause: string }, b: { cause: string }) => (a.cause < b.cause ? -1 : 1)
