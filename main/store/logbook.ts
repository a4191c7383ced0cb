import { statSync } from 'node:fs'
import { join } from 'node:path'
import { DEMO_BENCH_NAME } from '../../shared/demo/bench.ts'
import type { SecondTry } from '../../shared/diagnose/report.ts'
import { type Experience, experienceOf, NO_EXPERIENCE } from '../../shared/experience/experience.ts'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import { errorCode } from './atomic-write.ts'
import { ReadRuns, type UseJournal } from './experience.ts'
import { Journal, type JournalEnv, LOGBOOK_FILE } from './journal.ts'
import type { RunQuery } from './journal-runs.ts'

export interface Counts {
  readonly counts: Record<string, number>
  readonly secondTries: SecondTry[]
  readonly problem: Problem | undefined
}

/** Of what was seen on the demo bench nothing counts elsewhere, and of the others all counts together. */
const alongside = (benchName: string | null): Omit<RunQuery, 'kind'> =>
  benchName === DEMO_BENCH_NAME ? { benchName } : { exceptBenchName: DEMO_BENCH_NAME }

export const countsFor = (journal: Journal, benchName: string): Record<string, number> =>
  journal.causeCounts(alongside(benchName))

export interface ExperienceQuery {
  readonly kind: RunQuery['kind']
  readonly benchName: string | null
  /** The route of a guided run, or the dialect of a write. */
  readonly way: string
  readonly typeId: string | null
}

/**
 * The logbook of one data folder, opened when it is first asked for. A program without one works: what cannot be
 * opened is a problem of the call that asked for it, and is tried again at the next.
 */
export class Logbook {
  readonly #dataFolder: string
  readonly #env: Partial<JournalEnv>
  readonly #runs = new ReadRuns()
  #opening: Promise<Journal> | undefined

  constructor(dataFolder: string, env: Partial<JournalEnv> = {}) {
    this.#dataFolder = dataFolder
    this.#env = env
  }

  get file(): string {
    return join(this.#dataFolder, LOGBOOK_FILE)
  }

  /**
   * Works with the logbook; it is begun where there is none.
   * @throws ProblemError those of Journal
   */
  async use<T>(work: (journal: Journal) => T): Promise<T> {
    this.#opening ??= Journal.open(this.#dataFolder, this.#env)
    const opening = this.#opening
    try {
      return work(await opening)
    } catch (error) {
      const code = error instanceof ProblemError ? error.problem.code : ''
      const isOpen = await opening.then(
        () => true,
        () => false,
      )
      // A damaged one is set aside as it is opened again.
      if ((!isOpen || code === 'logbook.damaged') && this.#opening === opening) this.#opening = undefined
      throw error
    }
  }

  /** A folder that may not be looked into is no reason to say that nothing is in it: opening tells what is wrong. */
  #isThere(): boolean {
    try {
      return statSync(this.file, { throwIfNoEntry: false }) !== undefined
    } catch (error) {
      return errorCode(error) !== 'ENOTDIR'
    }
  }

  /** The same, where there is a logbook; `without` where none was begun yet. */
  async look<T>(work: (journal: Journal) => T, without: T): Promise<T> {
    return this.#isThere() ? this.use(work) : without
  }

  /**
   * How often each cause was found, and what worked at the second attempt by itself; nothing, with the reason, where the
   * logbook cannot say.
   */
  async counts(benchName: string): Promise<Counts> {
    try {
      if (!this.#isThere()) return { ...NOTHING, problem: undefined }
      const found = await this.use(journal => ({
        counts: countsFor(journal, benchName),
        problem: journal.problem,
      }))
      const use: UseJournal = work => this.use(work)
      return { ...found, secondTries: await this.#runs.secondTries(use, alongside(benchName)) }
    } catch (error) {
      if (error instanceof ProblemError) return { ...NOTHING, problem: error.problem }
      throw error
    }
  }

  /** What earlier updates on this bench have shown of one that goes the same way. */
  async experience({ kind, benchName, way, typeId }: ExperienceQuery): Promise<Experience> {
    if (!this.#isThere()) return NO_EXPERIENCE
    const use: UseJournal = work => this.use(work)
    return experienceOf(await this.#runs.facts(use, { kind, ...alongside(benchName) }), way, typeId)
  }

  async close(): Promise<void> {
    const opening = this.#opening
    this.#opening = undefined
    await opening?.then(journal => journal.close()).catch(() => {})
  }
}
const NOTHING = { counts: {}, secondTries: [] }
