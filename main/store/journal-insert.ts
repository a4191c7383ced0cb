import type { LoggedEvent } from '../../shared/logbook/event.ts'
import { type NewSession, newSessionSchema, type SessionEnding } from '../../shared/logbook/session.ts'
import type { Outcome } from '../../shared/procedure/effects.ts'
import type { JournalTable } from './journal-table.ts'
import type { Owner } from './process-owner.ts'

/** What a row of a session holds besides what it is about. */
export interface InsertAbout {
  readonly startedAtMs: number
  readonly endedAtMs?: number | null
  readonly ending?: SessionEnding | null
  readonly outcome?: Outcome | null
  readonly owner?: Owner
  readonly importedAtMs?: number
}

const NOTHING_KNOWN = {
  ...{ receiverId: null, nickname: null, typeId: null, benchName: null, port: null },
  ...{ dialect: null, image: null, recovers: null, plan: null },
}

const SESSION = `INSERT INTO sessions (id, kind, receiver_id, nickname, type_id, bench_name, port, dialect, image,
  recovers, plan, started_at, ended_at, ending, outcome, owner_pid, owner_started, imported_at)
  VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`

/** @throws ZodError for a session that is none */
export function insertSession(
  table: JournalTable,
  id: string,
  session: NewSession,
  about: InsertAbout,
): void {
  const s = newSessionSchema.parse({ ...NOTHING_KNOWN, ...session })
  const { port } = s
  const asText = (value: unknown) => (value === null ? null : JSON.stringify(value))
  const { startedAtMs, endedAtMs = null, ending = null, outcome = null, owner, importedAtMs = null } = about
  const values = [
    ...[id, s.kind, s.receiverId, s.nickname, s.typeId, s.benchName, port, s.dialect],
    ...[asText(s.image), s.recovers, asText(s.plan), startedAtMs, endedAtMs, ending, outcome],
    ...[owner?.pid ?? null, owner?.started ?? null, importedAtMs],
  ]
  table.change(SESSION, ...values)
}

/** @param key the row of the session */
export function insertEvent(table: JournalTable, key: number, { seq, atMs, event }: LoggedEvent): void {
  table.change(
    'INSERT INTO events (session, seq, at, event) VALUES (?, ?, ?, ?)',
    ...[key, seq, atMs, JSON.stringify(event)],
  )
}
