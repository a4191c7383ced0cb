import { type Answered, answered } from './answers.ts'
import { findCause } from './causes.ts'
import { findFact } from './facts.ts'
import type { HiddenFaults } from './hide.ts'
import { type Suspicion, suspicions, worthTelling } from './likelihood.ts'
import { modelSymptom, type SymptomModel, systemOf, type TableModel } from './model.ts'
import { advise, usualCosts } from './next-check.ts'
import type { Reading } from './system.ts'

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
}

const MOST_STEPS = 150
const nothingAnswered: Answered = { answers: {}, confirmed: [] }

/**
 * Looks, repairs and tries again until it works, as the advice says. When another symptom appears after a repair, the
 * search begins anew with that one.
 * @param table of the same bench, receiver and route
 */
export function solve(hidden: HiddenFaults, table: TableModel): Solved {
  const done = { looks: 0, repairs: 0, minutes: 0 }
  const repaired: string[] = []
  let symptom: ReturnType<HiddenFaults['after']> = hidden.symptom
  let model = modelSymptom(table, hidden.symptom)
  let known = nothingAnswered
  let tried: string[] = []
  for (let step = 0; step < MOST_STEPS && symptom !== 'none'; step++) {
    const { next } = adviseOn(model, known, tried)
    if (next.do === 'ask') break
    if (next.do === 'look') {
      known = answered(known, next.fact, hidden.ask(next.fact, repaired))
      done.looks++
      done.minutes += findFact(next.fact)?.minutes ?? 0
      continue
    }
    repaired.push(...next.causes)
    tried = [...tried, ...next.causes]
    done.repairs++
    done.minutes += next.causes.reduce(
      (sum, id) => sum + (findCause(id)?.repair.minutes ?? 0),
      usualCosts.tryMinutes,
    )
    const after = hidden.after(repaired)
    if (after === symptom) continue
    symptom = after
    if (after === 'none') break
    model = modelSymptom(table, after)
    known = nothingAnswered
    tried = [...repaired]
  }
  return { ...done, works: symptom === 'none', repaired }
}

function adviseOn(model: SymptomModel, known: Answered, tried: readonly string[]) {
  const system = systemOf(model, { tried, confirmed: known.confirmed })
  const readings = readingsOfAnswers(known)
  const again = new Set([...readings.keys()].filter(id => !known.confirmed.includes(id)))
  return advise(system, readings, { ...usualCosts, again })
}

function readingsOfAnswers({ answers }: Answered): Map<string, Reading> {
  return new Map(
    Object.entries(answers).flatMap(([id, answer]): [string, Reading][] =>
      answer === 'cannot-check' ? [] : [[id, answer === findFact(id)?.sound ? 'sound' : 'unsound']],
    ),
  )
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
