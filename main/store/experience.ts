import { setImmediate as turn } from 'node:timers/promises'
import type { SecondTry } from '../../shared/diagnose/report.ts'
import { factsOfRun, type RunFacts } from '../../shared/experience/run-facts.ts'
import { factsOfWrite } from '../../shared/experience/write-facts.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { fromLogged } from '../../shared/runbook/logged.ts'
import { runbookSchema } from '../../shared/runbook/schema.ts'
import { runbookState } from '../../shared/runbook/state.ts'
import type { Journal } from './journal.ts'
import type { RunQuery } from './journal-runs.ts'

/** Kept beyond what one look needs, so that two benches in turn are not read anew each time. */
const MOST_KEPT = 1_000

/** Works with the logbook; see `Logbook.use`. */
export type UseJournal = <T>(work: (journal: Journal) => T) => Promise<T>

/** What the updates of this logbook tell. Each is read once: what is over does not change any more. */
export class ReadRuns {
  readonly #kept = new Map<string, RunFacts | null>()

  /**
   * Of the latest updates, the latest first; one that cannot be read tells nothing. Each takes some milliseconds to read
   * for the first time: whatever else the program does, such as a write, has its turn in between.
   */
  async facts(use: UseJournal, query: RunQuery): Promise<RunFacts[]> {
    const all: RunFacts[] = []
    for (const id of await use(journal => journal.endedRuns(query))) {
      let facts = this.#kept.get(id)
      if (facts === undefined) {
        await turn()
        facts = await use(journal => readRun(journal, query.kind, id))
        this.#keep(id, facts)
      }
      if (facts !== null) all.push(facts)
    }
    return all
  }

  /** Second attempts that worked by themselves, of both kinds of updates. */
  async secondTries(use: UseJournal, benches: Omit<RunQuery, 'kind'>): Promise<SecondTry[]> {
    const guided = await this.facts(use, { kind: 'guided', ...benches })
    const written = await this.facts(use, { kind: 'write', ...benches })
    return [...guided, ...written].flatMap(({ secondTry }) => secondTry ?? [])
  }

  #keep(id: string, facts: RunFacts | null): void {
    if (this.#kept.size >= MOST_KEPT) this.#kept.clear()
    this.#kept.set(id, facts)
  }
}

function readRun(journal: Journal, kind: RunQuery['kind'], id: string): RunFacts | null {
  try {
    return kind === 'guided' ? guided(journal, id) : written(journal, id)
  } catch (error) {
    if (error instanceof ProblemError && error.problem.code === 'logbook.row') return null
    throw error
  }
}

function written(journal: Journal, id: string): RunFacts {
  const { session, events } = journal.toldRun(id)
  return factsOfWrite(session, events)
}

/** @returns null for a run of a version of this program that knew other steps */
function guided(journal: Journal, id: string): RunFacts | null {
  const { session, events } = journal.session(id)
  const runbook = runbookSchema.safeParse(session.plan)
  if (!runbook.success) return null
  const answers = events.flatMap(({ atMs, event }) => fromLogged(event, atMs) ?? [])
  return factsOfRun(runbook.data, runbookState(runbook.data, session.startedAtMs, answers))
}
