import { routeOf } from '../../shared/diagnose/diagnose.ts'
import { modelTable, type TableModel } from '../../shared/diagnose/model.ts'
import type { DiagnosisRequest } from '../../shared/diagnose/report.ts'
import { consider, type Search } from '../../shared/diagnose/search.ts'
import { twinOf } from '../../shared/diagnose/twin.ts'

/** What takes long to work out and is asked for again and again, kept by the thread that works it out. */

/** Tables that are kept: a few receivers by both routes. */
const MOST_KEPT = 8
const MOST_THOUGHTS = 200

export type ModelTable = typeof modelTable

/**
 * Models of tables, the last few of them kept: one takes some hundred milliseconds, an answer after that a few.
 * @param model builds one; given where somebody counts
 */
export function tableKeeper(model: ModelTable = modelTable) {
  const kept = new Map<string, TableModel>()
  return (request: Pick<DiagnosisRequest, 'bench' | 'receiverId' | 'symptom' | 'route'>) => {
    const { bench, receiverId } = request
    const route = routeOf(request)
    const twin = twinOf(bench, receiverId, route)
    if (twin === undefined) return undefined
    // The twin is all that a model is made of, so edits that do not reach it do not matter.
    const key = JSON.stringify(twin)
    const table = kept.get(key) ?? model(bench, receiverId, route)
    if (table !== undefined) keep(kept, key, table, MOST_KEPT)
    return table
  }
}
export type TableKeeper = ReturnType<typeof tableKeeper>

/**
 * Thinks of each situation once, the last few hundred of them kept.
 * @param think thinks; given where somebody counts
 */
export function thoughtKeeper(think: typeof consider = consider): typeof consider {
  const kept = new Map<string, ReturnType<typeof consider>>()
  return (search: Search) => {
    const { model, known, tried } = search
    const key = JSON.stringify([model.route, model.symptom, known, tried])
    const thought = kept.get(key) ?? think(search)
    keep(kept, key, thought, MOST_THOUGHTS)
    return thought
  }
}

/** As the latest; of more than so many the oldest go. */
function keep<T>(kept: Map<string, T>, key: string, value: T, most: number): void {
  kept.delete(key)
  kept.set(key, value)
  for (const oldest of kept.keys()) {
    if (kept.size <= most) break
    kept.delete(oldest)
  }
}
