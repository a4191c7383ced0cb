import { answered } from './answers.ts'
import { findCause } from './causes.ts'
import { findFact } from './facts.ts'
import type { HiddenFaults } from './hide.ts'
import { type Suspicion, suspicions } from './likelihood.ts'
import { type SymptomModel, systemOf, type TableModel } from './model.ts'
import { usualCosts } from './next-check.ts'
import {
  afterLook,
  afterRepair,
  beginSearch,
  consider,
  nothingAnswered,
  readingsOfAnswers,
} from './search.ts'
import { worthTelling } from './telling.ts'

/** One thing that was done in a search. */
export type Done =
  | { readonly do: 'look'; readonly fact: string; readonly answer: 'yes' | 'no' }
  | {
      readonly do: 'repair'
      readonly causes: readonly string[]
      /** What a session shows after it. */
      readonly after: ReturnType<HiddenFaults['after']>
    }

/** What it takes: looks as the facts state them; repairs as the causes do, and one try after them. */
export const minutesOf = (done: Done): number =>
  done.do === 'look'
    ? (findFact(done.fact)?.minutes ?? 0)
    : done.causes.reduce((sum, id) => sum + (findCause(id)?.repair.minutes ?? 0), usualCosts.tryMinutes)

/** How the engine got on with a hidden fault, doing at each step what it would advise. */
export interface Solved {
  /** True where a session went well at the end. */
  readonly works: boolean
  /** Looks taken, second looks among them. */
  readonly looks: number
  /** Repairs carried out, each followed by another try. */
  readonly repairs: number
  /** Looks, repairs and tries together, as the facts and causes state them. */
  readonly minutes: number
  /** Ids of the causes that were put right, in this order; some of them were not there. */
  readonly repaired: readonly string[]
  /** All of it, in this order. */
  readonly path: readonly Done[]
}

const MOST_STEPS = 150

/**
 * Looks, repairs and tries again until it works, as the advice says. When another symptom appears after a repair, the
 * search begins anew with that one.
 * @param table of the same bench, receiver and route
 */
export function solve(hidden: HiddenFaults, table: TableModel): Solved {
  const path: Done[] = []
  let search = beginSearch(hidden, table)
  while (path.length < MOST_STEPS && search.symptom !== 'none') {
    const { next } = consider(search).advice
    if (next.do === 'ask') break
    if (next.do === 'look') {
      const answer = hidden.ask(next.fact, search.repaired)
      search = afterLook(search, next.fact, answer)
      path.push({ do: 'look', fact: next.fact, answer })
    } else {
      search = afterRepair(search, hidden, table, next.causes)
      path.push({ do: 'repair', causes: next.causes, after: search.symptom })
    }
  }
  return {
    works: search.symptom === 'none',
    looks: path.filter(done => done.do === 'look').length,
    repairs: path.filter(done => done.do === 'repair').length,
    minutes: path.reduce((sum, done) => sum + minutesOf(done), 0),
    repaired: search.repaired,
    path,
  }
}

/** A set that is as likely as this is worth the second look that would confirm it or do away with it. */
const WORTH_A_LOOK = 0.01
/** Somebody who gets another answer each time gives up on that fact. */
const MOST_LOOKS = 5

export interface Identified {
  /** What the engine tells first, when everything has been looked at. */
  readonly top: Suspicion | undefined
  readonly looks: number
}

/**
 * Somebody who wants to know rather than to get it going: answers every question there is for the symptom, and then
 * looks again at each answer that one of the explanations told has to doubt.
 * @param twice whether anything is looked at a second time
 */
export function identify(hidden: HiddenFaults, model: SymptomModel, twice = true): Identified {
  let known = nothingAnswered
  const looksAt = new Map<string, number>()
  const look = (id: string) => {
    looksAt.set(id, (looksAt.get(id) ?? 0) + 1)
    known = answered(known, id, hidden.ask(id))
  }
  for (const { spec } of model.facts) look(spec.id)
  for (;;) {
    const told = worthTelling(
      suspicions(systemOf(model, { confirmed: known.confirmed }), readingsOfAnswers(known)),
    )
    const doubted = told.flatMap(({ likelihood, doubts }) => (likelihood < WORTH_A_LOOK ? [] : doubts))
    const open = model.facts
      .map(({ spec }) => spec.id)
      .filter(
        id => known.answers[id] === undefined || (doubted.includes(id) && !known.confirmed.includes(id)),
      )
      .filter(id => (looksAt.get(id) ?? 0) < MOST_LOOKS)
    if (!twice || open.length === 0)
      return { top: told[0], looks: [...looksAt.values()].reduce((sum, n) => sum + n, 0) }
    for (const id of open) look(id)
  }
}
