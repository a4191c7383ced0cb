import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { diagnoseMethods } from '../../shared/api/diagnose.ts'
import { ProblemsError } from '../../shared/api/serve.ts'
import { diagnose, routeOf } from '../../shared/diagnose/diagnose.ts'
import { modelTable, type TableModel } from '../../shared/diagnose/model.ts'
import type { DiagnosisRequest } from '../../shared/diagnose/report.ts'
import { twinOf } from '../../shared/diagnose/twin.ts'
import type { Bench } from '../../shared/model/bench.ts'

/** Tables that are kept: a few receivers by both routes. */
const MOST_KEPT = 8

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
    if (table === undefined) return undefined
    kept.delete(key)
    kept.set(key, table)
    for (const oldest of kept.keys()) {
      if (kept.size <= MOST_KEPT) break
      kept.delete(oldest)
    }
    return table
  }
}

/** What was found before, and what worked at the second attempt by itself, for a bench. */
export type CountsFor = (bench: Bench) => Promise<Pick<DiagnosisRequest, 'counts' | 'secondTries'>>

/**
 * `diagnose.run`: causes, and what to do next.
 * @param countsFor where the request brings no counts of its own; without it there are none
 */
export function diagnoseHandlers(
  tableFor: ReturnType<typeof tableKeeper> = tableKeeper(),
  countsFor?: CountsFor,
): Pick<Handlers<AppContract>, keyof typeof diagnoseMethods> {
  return {
    'diagnose.run': async request => {
      const { counts, secondTries } = request
      const hasOwn = Object.keys(counts).length + secondTries.length > 0
      const known =
        hasOwn || countsFor === undefined ? { counts, secondTries } : await countsFor(request.bench)
      const done = diagnose({ ...request, ...known }, { table: tableFor(request) })
      if (!done.ok) throw new ProblemsError(done.problems)
      return done.value
    },
  }
}
