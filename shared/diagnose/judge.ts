import { findCause } from './causes.ts'
import type { PracticeDone, PracticeEnd, PracticeSpent } from './exercise.ts'
import { findFact } from './facts.ts'
import type { HiddenFaults } from './hide.ts'
import type { TableModel } from './model.ts'
import { consider, type Search } from './search.ts'
import { type Done, minutesOf, solve } from './solve.ts'

/** What somebody in training did, and what was really there. */
export interface Practised {
  readonly hidden: HiddenFaults
  /** The same table once more, as it was. */
  readonly again: () => HiddenFaults | undefined
  readonly table: TableModel
  readonly done: readonly (Done | 'hint')[]
  /** Where they stood before each of them. */
  readonly searches: readonly Search[]
  /** Where they stand at the end. */
  readonly search: Search
}

export function spentOn(done: readonly (Done | 'hint')[]): PracticeSpent {
  const acts = done.filter(one => one !== 'hint')
  return {
    minutes: acts.reduce((sum, one) => sum + minutesOf(one), 0),
    looks: acts.filter(one => one.do === 'look').length,
    repairs: acts.filter(one => one.do === 'repair').length,
    hints: done.length - acts.length,
  }
}

/** @param before what was seen before it */
export function tellDone(done: Done, before: Search['symptom']): PracticeDone {
  const minutes = minutesOf(done)
  if (done.do === 'look') {
    const { fact, answer } = done
    const spec = findFact(fact)
    const question = spec?.question ?? fact
    return { do: 'look', fact, question, answer, isSound: answer === spec?.sound, minutes }
  }
  const causes = done.causes.flatMap(id => findCause(id) ?? [])
  return {
    do: 'repair',
    causes: causes.map(({ id, label }) => ({ id, label })),
    label: causes.map(({ repair }) => repair.label).join(' '),
    minutes,
    after: done.after,
    change: done.after === 'none' ? 'works' : done.after === before ? 'same' : 'other',
  }
}

/** What it was, how the engine finds it, and what could have been saved. */
export function judge(practised: Practised, think = consider): PracticeEnd {
  const { hidden, search } = practised
  return {
    works: search.symptom === 'none',
    truth: hidden.truth.flatMap(id => {
      const cause = findCause(id)
      if (cause === undefined) return []
      const { label, mechanism, repair } = cause
      return [{ id, label, mechanism, repair: repair.label, wasRepaired: search.repaired.includes(id) }]
    }),
    engine: engineOn(practised),
    ...looksJudged(practised, think),
    needlessRepairs: needlessRepairs(practised),
  }
}

function engineOn({ again, hidden, table }: Practised): PracticeEnd['engine'] {
  const { works, path } = solve(again() ?? hidden, table)
  let before: Search['symptom'] = hidden.symptom
  const told = path.map(one => {
    const said = tellDone(one, before)
    if (one.do === 'repair') before = one.after
    return said
  })
  return { ...spentOn(path), works, path: told }
}

/**
 * Each look by what was known when it was taken, not by what came out: one that is worth less than its time is
 * needless, one that can hurt is none to take while a safe one is worth its time.
 */
function looksJudged(
  { done, searches }: Practised,
  think: typeof consider,
): Pick<PracticeEnd, 'needlessLooks' | 'dangers'> {
  const needlessLooks: PracticeEnd['needlessLooks'] = []
  const dangers: PracticeEnd['dangers'] = []
  for (const [i, one] of done.entries()) {
    const spec = one !== 'hint' && one.do === 'look' ? findFact(one.fact) : undefined
    if (spec === undefined) continue
    const { looks, next } = think(searches[i]).advice
    // Where nothing explains what was seen, any look may be the one that was misread.
    if (next.do === 'ask') continue
    const { id, question, minutes, risk } = spec
    const mine = looks.find(look => look.fact === id)
    if (mine === undefined || mine.savesMinutes <= 0) needlessLooks.push({ question, minutes })
    const safe = looks.find(look => !look.hurts && look.savesMinutes > 0)
    if (risk !== undefined && safe !== undefined)
      dangers.push({ question, risk, safe: findFact(safe.fact)?.question ?? '' })
  }
  return { needlessLooks, dangers }
}

function needlessRepairs({ done, hidden }: Practised): PracticeEnd['needlessRepairs'] {
  const repaired = new Set<string>()
  return done.flatMap(one => {
    if (one === 'hint' || one.do === 'look') return []
    return one.causes.flatMap(id => {
      const isNeeded = hidden.truth.includes(id) && !repaired.has(id)
      repaired.add(id)
      const cause = findCause(id)
      return isNeeded || cause === undefined
        ? []
        : [{ label: cause.repair.label, minutes: cause.repair.minutes }]
    })
  })
}
