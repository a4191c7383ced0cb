import { z } from 'zod'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import {
  type Database,
  problemOfSqlite,
  type Row,
  type SqlValue,
  type Statement,
  transaction,
} from './sqlite.ts'

/** The database of a logbook: statements are prepared once, and every error comes out as a problem. */
export class JournalTable {
  readonly file: string
  readonly #db: Database
  readonly #statements = new Map<string, Statement>()

  constructor(db: Database, file: string) {
    this.#db = db
    this.file = file
  }

  #statement(sql: string): Statement {
    const known = this.#statements.get(sql)
    if (known !== undefined) return known
    const made = this.#db.prepare(sql)
    this.#statements.set(sql, made)
    return made
  }

  /** @returns how many rows were changed; they are on the disk by then */
  change(sql: string, ...values: readonly SqlValue[]): number {
    return this.#said(() => Number(this.#statement(sql).run(...values).changes))
  }

  rows(sql: string, ...values: readonly SqlValue[]): Row[] {
    return this.#said(() => this.#statement(sql).all(...values))
  }

  /** All of it or nothing. */
  together<T>(work: () => T): T {
    return this.#said(() => transaction(this.#db, work))
  }

  /** @throws ProblemError `logbook.damaged` where a row is not what it should be */
  read<T>(make: () => T): T {
    try {
      return make()
    } catch (error) {
      throw error instanceof z.ZodError ? new ProblemError(this.#unreadable(error)) : error
    }
  }

  /** What is in the write-ahead log goes into the file first: the package does not see to that as it closes. */
  close(): void {
    this.#db.exec('PRAGMA wal_checkpoint(TRUNCATE)')
    this.#db.close()
  }

  #said<T>(work: () => T): T {
    try {
      return work()
    } catch (error) {
      throw problemOfSqlite(error, this.file)
    }
  }

  #unreadable(error: z.ZodError): Problem {
    const [issue] = error.issues
    return {
      code: 'logbook.row',
      file: this.file,
      field: issue?.path.join('.'),
      message: 'A line of the logbook cannot be read: another program has changed it.',
      expected: issue?.message,
      remedy: 'The other lines are still good.',
    }
  }
}
