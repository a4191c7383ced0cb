import { type Answered, answered } from './answers.ts'
import { findFact } from './facts.ts'
import type { HiddenFaults } from './hide.ts'
import { type Suspicion, suspicions } from './likelihood.ts'
import { modelSymptom, type SymptomModel, systemOf, type TableModel } from './model.ts'
import { type Advice, advise, usualCosts } from './next-check.ts'
import type { Reading } from './system.ts'

/** Where somebody stands who looks for what is hidden, a person in training or the engine. */
export interface Search {
  readonly symptom: ReturnType<HiddenFaults['after']>
  /** Of the symptom, or of the last one where it works. */
  readonly model: SymptomModel
  /** What was seen since this symptom is there. */
  readonly known: Answered
  /** Ids of causes that were put right and have not made this symptom go away. */
  readonly tried: readonly string[]
  /** Ids of all causes that were put right, in this order; some of them were not there. */
  readonly repaired: readonly string[]
}

export const nothingAnswered: Answered = { answers: {}, confirmed: [] }

export const beginSearch = ({ symptom }: HiddenFaults, table: TableModel): Search => ({
  symptom,
  model: modelSymptom(table, symptom),
  known: nothingAnswered,
  tried: [],
  repaired: [],
})

/** After a look. */
export const afterLook = (search: Search, factId: string, answer: 'yes' | 'no'): Search => ({
  ...search,
  known: answered(search.known, factId, answer),
})

/** After a repair and another try. Where another symptom shows then, the search begins anew with that one. */
export function afterRepair(
  search: Search,
  hidden: HiddenFaults,
  table: TableModel,
  causes: readonly string[],
): Search {
  const repaired = [...search.repaired, ...causes]
  const symptom = hidden.after(repaired)
  if (symptom === search.symptom) return { ...search, repaired, tried: [...search.tried, ...causes] }
  if (symptom === 'none') return { ...search, repaired, symptom }
  const model = modelSymptom(table, symptom)
  return { symptom, model, known: nothingAnswered, tried: repaired, repaired }
}

/** What there is to be thought of where a search stands, and what to do next. */
export function consider({ model, known, tried }: Search): {
  readonly advice: Advice
  readonly suspected: readonly Suspicion[]
} {
  const system = systemOf(model, { tried, confirmed: known.confirmed })
  const readings = readingsOfAnswers(known)
  const again = new Set([...readings.keys()].filter(id => !known.confirmed.includes(id)))
  const suspected = suspicions(system, readings)
  return { advice: advise(system, readings, { ...usualCosts, again }, suspected), suspected }
}

export function readingsOfAnswers({ answers }: Answered): Map<string, Reading> {
  return new Map(
    Object.entries(answers).flatMap(([id, answer]): [string, Reading][] =>
      answer === 'cannot-check' ? [] : [[id, answer === findFact(id)?.sound ? 'sound' : 'unsound']],
    ),
  )
}
