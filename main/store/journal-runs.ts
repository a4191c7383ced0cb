import type { LoggedEvent } from '../../shared/logbook/event.ts'
import type { SessionHead, SessionKind } from '../../shared/logbook/session.ts'
import type { CountQuery } from './journal-findings.ts'
import { eventOfRow, HEAD_COLUMNS, headOfRow } from './journal-rows.ts'
import type { JournalTable } from './journal-table.ts'

export interface RunQuery extends Pick<CountQuery, 'benchName' | 'exceptBenchName'> {
  readonly kind: Exclude<SessionKind, 'diagnosis'>
}

export interface ToldRun {
  readonly session: SessionHead
  readonly events: LoggedEvent[]
}

/** What came earlier says little of a bench as it is now, and each has to be read. */
export const MOST_RUNS = 100

/** Updates that are over, to be learned from. */
export class JournalRuns {
  readonly #table: JournalTable

  constructor(table: JournalTable) {
    this.#table = table
  }

  ended({ kind, benchName, exceptBenchName }: RunQuery): string[] {
    const rows = this.#table.rows(
      `SELECT s.id FROM sessions s
       WHERE s.kind = ?1 AND s.ended_at IS NOT NULL AND s.imported_at IS NULL
         AND (?2 IS NULL OR s.bench_name = ?2) AND (?3 IS NULL OR s.bench_name IS NOT ?3)
       ORDER BY s.started_at DESC, s.key DESC LIMIT ${MOST_RUNS}`,
      ...[kind, benchName ?? null, exceptBenchName ?? null],
    )
    return rows.map(row => String(row.id))
  }

  told(key: number): ToldRun {
    const [row] = this.#table.rows(`SELECT ${HEAD_COLUMNS} FROM sessions s WHERE s.key = ?`, key)
    // Recorded answers of the line are for a replay, and may be as long as the image.
    const events = this.#table.rows(
      `SELECT seq, at AS atMs, event FROM events WHERE session = ? AND event NOT LIKE '{"kind":"answers"%'
       ORDER BY seq`,
      key,
    )
    return this.#table.read(() => ({ session: headOfRow(row), events: events.map(eventOfRow) }))
  }
}
