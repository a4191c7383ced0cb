import type { Bench } from '../model/bench.ts'
import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import type { Route } from '../model/units.ts'
import { dice } from '../sim/dice.ts'
import { findCause } from './causes.ts'
import { customerSays } from './customer.ts'
import { nextOf } from './diagnose.ts'
import type { Exercise, FactToLook, PracticeDone, PracticeRequest, PracticeSetup } from './exercise.ts'
import { findFact } from './facts.ts'
import { type HiddenFaults, hideFaults } from './hide.ts'
import { judge, spentOn, tellDone } from './judge.ts'
import type { TableModel } from './model.ts'
import { usualCosts } from './next-check.ts'
import { afterLook, afterRepair, beginSearch, consider, type Search } from './search.ts'
import type { Done } from './solve.ts'
import { worthTelling } from './telling.ts'

/** How often a look shows the opposite where looks can lie. */
export const LIES = 0.05

export interface PracticeTable {
  readonly bench: Bench
  readonly receiverId: string
  /** The model of the table; undefined where bench and receiver do not fit each other. */
  readonly modelOf: (route: Route) => TableModel | undefined
  /** Given where what was thought of once is kept: an exercise is played anew with each of its steps. */
  readonly consider?: typeof consider
}

/**
 * An exercise, played from its beginning: something is wrong on a simulated table, and somebody in training looks and
 * repairs. What they are told is what a session on that table shows.
 * @returns problems `practise.table`, `practise.fact`, `practise.cause`, `practise.over`
 */
export function practise(request: PracticeRequest, on: PracticeTable): Result<Exercise> {
  const hide = () => hideExercise(request, on)
  const hidden = hide()
  const table = hidden && on.modelOf(hidden.route)
  if (hidden === undefined || table === undefined) return failed(NO_TABLE)
  let search = beginSearch(hidden, table)
  const [searches, done, shown]: [Search[], (Done | 'hint')[], PracticeDone[]] = [[], [], []]
  let hasGivenUp = false
  for (const [i, step] of request.steps.entries()) {
    const field = `steps[${i}]`
    if (hasGivenUp || search.symptom === 'none') return failed({ ...OVER, field })
    if (step.do === 'give-up') {
      hasGivenUp = true
      continue
    }
    searches.push(search)
    if (step.do === 'hint') {
      done.push('hint')
      shown.push(hintOf(search, on.consider))
      continue
    }
    const next =
      step.do === 'look' ? lookAt(hidden, search, step.fact) : putRight(hidden, table, search, step)
    if (next === undefined) return failed({ ...(step.do === 'look' ? NO_FACT : NO_CAUSE), field })
    done.push(next.done)
    shown.push(tellDone(next.done, search.symptom))
    search = next.search
  }
  const isOver = hasGivenUp || search.symptom === 'none'
  return succeeded({
    route: hidden.route,
    told: customerSays(hidden.symptom, request.seed),
    first: hidden.symptom,
    now: search.symptom,
    spent: spentOn(done),
    tryMinutes: usualCosts.tryMinutes,
    facts: isOver ? [] : factsToLook(search, done),
    repairs: isOver ? [] : repairsToDo(table, search),
    done: shown,
    end: isOver ? judge({ hidden, again: hide, table, done, searches, search }, on.consider) : null,
  })
}

const NO_TABLE: Problem = {
  code: 'practise.table',
  message: 'Nothing could be hidden on this table.',
  remedy: 'Take another number.',
}
const OVER: Problem = {
  code: 'practise.over',
  message: 'This exercise is over.',
  remedy: 'Begin it again, or another one.',
}
const NO_FACT: Problem = {
  code: 'practise.fact',
  message: 'There is nothing of this name to look at while this is seen.',
}
const NO_CAUSE: Problem = {
  code: 'practise.cause',
  message: 'There is no repair of this name for this way of updating.',
}

/** Each look at a fact has a die of its own, so that everybody is lied to in the same way, in whatever order they look. */
function hideExercise({ seed, faults, lies }: PracticeSetup, on: PracticeTable): HiddenFaults | undefined {
  const count = faults === 'either' ? {} : { faults: faults === 'one' ? (1 as const) : (2 as const) }
  const hidden = hideFaults(on.bench, on.receiverId, seed, count)
  if (hidden === undefined || !lies) return hidden
  const looks = new Map<string, number>()
  return {
    ...hidden,
    ask: (factId, repaired) => {
      const look = (looks.get(factId) ?? 0) + 1
      looks.set(factId, look)
      const truly = hidden.ask(factId, repaired)
      const isLie = dice(seed, `lie ${factId} ${look}`).next() < LIES
      return isLie ? (truly === 'yes' ? 'no' : 'yes') : truly
    },
  }
}

interface Stepped {
  readonly done: Done
  readonly search: Search
}

function lookAt(hidden: HiddenFaults, search: Search, fact: string): Stepped | undefined {
  if (!search.model.facts.some(({ spec }) => spec.id === fact)) return undefined
  const answer = hidden.ask(fact, search.repaired)
  return { done: { do: 'look', fact, answer }, search: afterLook(search, fact, answer) }
}

function putRight(
  hidden: HiddenFaults,
  table: TableModel,
  search: Search,
  { causes }: { readonly causes: readonly string[] },
): Stepped | undefined {
  if (!causes.every(id => table.causes.some(({ cause }) => cause.id === id))) return undefined
  const after = afterRepair(search, hidden, table, causes)
  return { done: { do: 'repair', causes, after: after.symptom }, search: after }
}

/** What the engine would do where somebody stands. */
function hintOf(search: Search, think = consider): PracticeDone {
  const { advice, suspected } = think(search)
  const told = worthTelling(suspected).map(({ members, likelihood }) => ({
    likelihood,
    members: members.map(id => ({ id, label: findCause(id)?.label ?? id })),
  }))
  const next = nextOf(advice, search.model, told)
  const label =
    next.do === 'look' ? (findFact(next.fact)?.question ?? '') : next.do === 'repair' ? next.label : ''
  return { do: 'hint', next, label }
}

function factsToLook(search: Search, done: readonly (Done | 'hint')[]): FactToLook[] {
  const lastRepair = done.findLastIndex(one => one !== 'hint' && one.do === 'repair')
  return search.model.facts.map(({ spec }) => ({
    id: spec.id,
    question: spec.question,
    sound: spec.sound,
    look: spec.look,
    minutes: spec.minutes,
    tools: [...spec.tools],
    risk: spec.risk ?? null,
    seen: done.flatMap((one, i) =>
      one !== 'hint' && one.do === 'look' && one.fact === spec.id
        ? [{ answer: one.answer, isOld: i < lastRepair }]
        : [],
    ),
  }))
}

const repairsToDo = (table: TableModel, search: Search): Exercise['repairs'] =>
  table.causes.map(({ cause: { id, label, part, repair } }) => ({
    cause: id,
    label,
    part,
    repair: repair.label,
    minutes: repair.minutes,
    reversible: repair.reversible,
    caution: repair.caution ?? null,
    isDone: search.repaired.includes(id),
  }))
