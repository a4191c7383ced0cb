import {
  type Finding,
  findingSchema,
  type NewFinding,
  type NewSession,
} from '../../shared/logbook/session.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { countRow, FINDING_COLUMNS, findingOfRow } from './journal-rows.ts'
import type { JournalTable } from './journal-table.ts'

/** A find, and what is known of the bench that it was made on. */
export interface AboutFinding
  extends Pick<NewSession, 'receiverId' | 'nickname' | 'typeId' | 'benchName' | 'plan'> {
  readonly finding: NewFinding
}

/** What is left out does not matter. */
export interface CountQuery {
  readonly typeId?: string | undefined
  readonly benchName?: string | undefined
  readonly exceptBenchName?: string | undefined
}

/** What diagnoses ended with. */
export class JournalFindings {
  readonly #table: JournalTable

  constructor(table: JournalTable) {
    this.#table = table
  }

  has(id: string): boolean {
    return this.sessionOf(id) !== undefined
  }

  /** @returns the id of the session */
  sessionOf(id: string): string | undefined {
    const [row] = this.#table.rows(
      'SELECT s.id FROM findings f JOIN sessions s ON s.key = f.session WHERE f.id = ?',
      id,
    )
    return row && String(row.id)
  }

  ofSession(key: number): Finding | null {
    const [row] = this.#table.rows(`SELECT ${FINDING_COLUMNS} FROM findings f WHERE f.session = ?`, key)
    return row === undefined ? null : findingOfRow(row)
  }

  insert(key: number, finding: Finding): void {
    const f = findingSchema.parse(finding)
    this.#table.change(
      `INSERT INTO findings (session, id, at, symptom, route, answers, tried, one_of, withdrawn_at)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
      ...[key, f.id, f.atMs, f.symptom, f.route],
      ...[JSON.stringify(f.answers), JSON.stringify(f.tried), Number(f.isOneOf), f.withdrawnAtMs],
    )
    f.causes.forEach((cause, place) => {
      this.#table.change(
        'INSERT INTO finding_causes (finding, place, cause) VALUES (?, ?, ?)',
        key,
        place,
        cause,
      )
    })
  }

  withdraw(id: string, atMs: number): void {
    if (!this.has(id))
      throw new ProblemError({
        code: 'logbook.no-finding',
        message: 'There is no such find in the logbook.',
        remedy: 'Nothing has to be taken back.',
      })
    this.#table.change('UPDATE findings SET withdrawn_at = ? WHERE id = ? AND withdrawn_at IS NULL', atMs, id)
  }

  counts({ typeId, benchName, exceptBenchName }: CountQuery): Record<string, number> {
    const rows = this.#table.rows(
      `SELECT c.cause, count(DISTINCT c.finding) AS count
       FROM finding_causes c JOIN findings f ON f.session = c.finding JOIN sessions s ON s.key = f.session
       WHERE f.withdrawn_at IS NULL AND f.one_of = 0 AND s.imported_at IS NULL
         AND (?1 IS NULL OR s.type_id = ?1) AND (?2 IS NULL OR s.bench_name = ?2)
         AND (?3 IS NULL OR s.bench_name IS NOT ?3)
       GROUP BY c.cause ORDER BY c.cause`,
      typeId ?? null,
      benchName ?? null,
      exceptBenchName ?? null,
    )
    const counted = this.#table.read(() => rows.map(row => countRow.parse(row)))
    return Object.fromEntries(counted.map(({ cause, count }) => [cause, count]))
  }
}
