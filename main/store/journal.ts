import { randomBytes } from 'node:crypto'
import { join } from 'node:path'
import { type LogEvent, type LoggedEvent, logEventSchema } from '../../shared/logbook/event.ts'
import type {
  Finding,
  NewSession,
  SessionEnding,
  SessionHead,
  SessionKind,
} from '../../shared/logbook/session.ts'
import { readSessionFile, type SessionFile, writeSessionFile } from '../../shared/logbook/session-file.ts'
import { RANDOM_OCTETS, timeSortedId } from '../../shared/logbook/session-id.ts'
import { type Problem, ProblemError, type Result, succeeded } from '../../shared/model/problem.ts'
import type { Outcome } from '../../shared/procedure/effects.ts'
import { type AboutFinding, type CountQuery, JournalFindings } from './journal-findings.ts'
import { JOURNAL_FORM } from './journal-form.ts'
import { insertEvent, insertSession } from './journal-insert.ts'
import { eventOfRow, HEAD_COLUMNS, headOfRow, ownerRow, planOfRow } from './journal-rows.ts'
import { JournalRuns, type RunQuery, type ToldRun } from './journal-runs.ts'
import { JournalTable } from './journal-table.ts'
import { makeFolder } from './make-folder.ts'
import { isAlive, type Owner, ownProcess } from './process-owner.ts'
import { loadSqlite, type OpenSqlite, openDatabase } from './sqlite.ts'

export const LOGBOOK_FILE = 'logbook.sqlite'

/** Clock, chance and processes, so that a test can hold them. */
export interface JournalEnv {
  readonly nowMs: () => number
  readonly random: (octets: number) => Uint8Array
  readonly owner: () => Owner
  readonly isAlive: (owner: Owner) => boolean
  readonly loadSqlite: () => Promise<OpenSqlite>
}
const ownEnv: JournalEnv = {
  nowMs: Date.now,
  random: randomBytes,
  owner: () => ownProcess(),
  isAlive: owner => isAlive(owner),
  loadSqlite,
}

export interface SessionQuery {
  /** At most 1,000; 100 where nothing is said. */
  readonly limit?: number | undefined
  /** Only those that began before this one. */
  readonly before?: string | undefined
  readonly receiverId?: string | undefined
  readonly kind?: SessionKind | undefined
}
export interface SessionPage {
  /** The latest first. */
  readonly sessions: SessionHead[]
  /** What to give as `before` to get the next page; null at the end. */
  readonly next: string | null
}
export interface LoggedSession {
  readonly session: SessionHead & { readonly plan: SessionFile['session']['plan'] }
  readonly events: LoggedEvent[]
  readonly finding: Finding | null
}
export interface SessionEnd {
  readonly ending: SessionEnding
  readonly outcome?: Outcome | null
}

const MOST_LISTED = 1_000

/**
 * The logbook of one data folder, in its file `logbook.sqlite`. Whatever a method has returned from is on the disk;
 * several processes may write at once. All methods throw ProblemError `logbook.busy`, `logbook.not-saved`,
 * `logbook.damaged` or `logbook.row` for what the disk and the file can cause.
 */
export class Journal {
  /** What was found wrong as it was opened, and put right. */
  readonly problem: Problem | undefined
  readonly #table: JournalTable
  readonly #findings: JournalFindings
  readonly #runs: JournalRuns
  readonly #env: JournalEnv

  private constructor(table: JournalTable, env: JournalEnv, problem: Problem | undefined) {
    this.#table = table
    this.#env = env
    this.#findings = new JournalFindings(table)
    this.#runs = new JournalRuns(table)
    this.problem = problem
  }

  /**
   * Opens the logbook, or begins one; the folder is made where it is missing.
   * @throws ProblemError `logbook.no-sqlite`, `logbook.not-opened`, `logbook.newer`
   */
  static async open(dataFolder: string, given: Partial<JournalEnv> = {}): Promise<Journal> {
    const env = { ...ownEnv, ...given }
    const open = await env.loadSqlite()
    const file = join(dataFolder, LOGBOOK_FILE)
    try {
      makeFolder(dataFolder)
    } catch {
      // Opening the file says what is wrong.
    }
    const { db, problem } = openDatabase(open, file, JOURNAL_FORM, env.nowMs())
    return new Journal(new JournalTable(db, file), env, problem)
  }

  close(): void {
    this.#table.close()
  }

  /**
   * Begins a session, owned by this process.
   * @returns its id
   * @throws ZodError for a session that is none: a mistake in the program
   */
  begin(session: NewSession): string {
    const atMs = this.#env.nowMs()
    const id = this.#newId(atMs)
    insertSession(this.#table, id, session, { startedAtMs: atMs, owner: this.#env.owner() })
    return id
  }

  /**
   * Adds events to a session that has not ended, all or none. They are committed when this returns, so what they
   * announce may be done.
   * @throws ProblemError `logbook.no-session`, `logbook.ended`; ZodError for an event that is none
   */
  append(id: string, ...events: readonly LogEvent[]): void {
    const texts = events.map(event => JSON.stringify(logEventSchema.parse(event)))
    if (texts.length === 1) this.#add(id, texts[0])
    else this.#table.together(() => texts.forEach(text => this.#add(id, text)))
  }

  #add(id: string, text: string): void {
    const changed = this.#table.change(
      `INSERT INTO events (session, seq, at, event)
       SELECT s.key, coalesce((SELECT max(e.seq) FROM events e WHERE e.session = s.key), 0) + 1, ?, ?
       FROM sessions s WHERE s.id = ? AND s.ended_at IS NULL`,
      this.#env.nowMs(),
      text,
      id,
    )
    if (changed === 0) throw this.#notOpen(id)
  }

  /** @throws ProblemError `logbook.no-session`, `logbook.ended` */
  end(id: string, { ending, outcome = null }: SessionEnd): void {
    const changed = this.#table.change(
      'UPDATE sessions SET ended_at = ?, ending = ?, outcome = ? WHERE id = ? AND ended_at IS NULL',
      this.#env.nowMs(),
      ending,
      outcome,
      id,
    )
    if (changed === 0) throw this.#notOpen(id)
  }

  /** Sessions that have not ended and whose process is gone, the latest first. */
  interrupted(): SessionHead[] {
    const open = this.#table.rows(
      `SELECT ${HEAD_COLUMNS}, s.owner_pid AS pid, s.owner_started AS started FROM sessions s
       WHERE s.ended_at IS NULL AND s.owner_pid IS NOT NULL ORDER BY s.started_at DESC, s.key DESC`,
    )
    return this.#table.read(() =>
      open.filter(row => !this.#env.isAlive(ownerRow.parse(row))).map(row => headOfRow(row)),
    )
  }

  /** @throws ProblemError `logbook.no-session` where there is no session `before` */
  sessions({ limit = 100, before, receiverId, kind }: SessionQuery = {}): SessionPage {
    const wanted = Math.max(1, Math.min(MOST_LISTED, Math.floor(limit)))
    if (before !== undefined) this.#key(before)
    const only = [
      ['s.receiver_id = ?', receiverId],
      ['s.kind = ?', kind],
      ['(s.started_at, s.key) < (SELECT b.started_at, b.key FROM sessions b WHERE b.id = ?)', before],
    ].flatMap(([sql, value]) => (sql === undefined || value === undefined ? [] : [{ sql, value }]))
    const where = only.length === 0 ? '' : `WHERE ${only.map(({ sql }) => sql).join(' AND ')}`
    const rows = this.#table.rows(
      `SELECT ${HEAD_COLUMNS} FROM sessions s ${where} ORDER BY s.started_at DESC, s.key DESC LIMIT ?`,
      ...only.map(({ value }) => value),
      wanted + 1,
    )
    const sessions = this.#table.read(() => rows.slice(0, wanted).map(headOfRow))
    return { sessions, next: rows.length > wanted ? (sessions.at(-1)?.id ?? null) : null }
  }

  /** @throws ProblemError `logbook.no-session` */
  session(id: string): LoggedSession {
    const key = this.#key(id)
    const [row] = this.#table.rows(`SELECT ${HEAD_COLUMNS}, s.plan FROM sessions s WHERE s.key = ?`, key)
    const events = this.#table.rows(
      'SELECT seq, at AS atMs, event FROM events WHERE session = ? ORDER BY seq',
      key,
    )
    return this.#table.read(() => ({
      session: { ...headOfRow(row), plan: planOfRow(row) },
      events: events.map(eventOfRow),
      finding: this.#findings.ofSession(key),
    }))
  }

  /** Ids that begin so, at most two of them. */
  idsLike(beginning: string): string[] {
    const rows = this.#table.rows(
      'SELECT id FROM sessions WHERE substr(id, 1, length(?)) = ? ORDER BY id LIMIT 2',
      beginning,
      beginning,
    )
    return rows.map(row => String(row.id))
  }

  /**
   * @returns the text of a file by itself; see `readSessionFile`
   * @throws ProblemError `logbook.no-session`
   */
  exportSession(id: string): string {
    const { session, events, finding } = this.session(id)
    return writeSessionFile({ format: 'preflash-session', formatVersion: 1, session, events, finding })
  }

  /**
   * Takes over a session from another logbook. It does not count in the odds, and is nobody's to recover.
   * @returns problems of `readSessionFile`, `logbook.known` where another session has its id
   */
  importSession(text: string, file: string): Result<{ readonly id: string; readonly isNew: boolean }> {
    const read = readSessionFile(text, file)
    if (!read.ok) return read
    const { session, events, finding } = read.value
    const { id } = session
    return this.#table.together(() => {
      if (this.idsLike(id).length > 0) {
        const isSame = this.exportSession(id) === writeSessionFile(read.value)
        return isSame ? succeeded({ id, isNew: false }) : { ok: false, problems: [otherOfThatId(file)] }
      }
      if (finding !== null && this.#findings.has(finding.id))
        return { ok: false, problems: [otherOfThatId(file)] }
      insertSession(this.#table, id, session, { ...session, importedAtMs: this.#env.nowMs() })
      const key = this.#key(id)
      for (const event of events) insertEvent(this.#table, key, event)
      if (finding !== null) this.#findings.insert(key, finding)
      return succeeded({ id, isNew: true })
    })
  }

  /**
   * Keeps what a diagnosis ended with, as a session of its own with the answers for events. One that is known already,
   * by its id, is left as it is.
   * @returns the id of its session
   * @throws ZodError for a find that is none
   */
  recordFinding(about: AboutFinding): string {
    const atMs = this.#env.nowMs()
    return this.#table.together(() => {
      const known = this.#findings.sessionOf(about.finding.id)
      if (known !== undefined) return known
      const id = this.#newId(atMs)
      const { finding, ...session } = about
      insertSession(
        this.#table,
        id,
        { ...session, kind: 'diagnosis' },
        { startedAtMs: atMs, endedAtMs: atMs, ending: 'done' },
      )
      const key = this.#key(id)
      Object.entries(finding.answers).forEach(([to, said], i) => {
        const event = logEventSchema.parse({ kind: 'answer', to, said })
        insertEvent(this.#table, key, { seq: i + 1, atMs, event })
      })
      this.#findings.insert(key, { ...finding, atMs, withdrawnAtMs: null })
      return id
    })
  }

  /** The trouble came back: the find does not count any more. @throws ProblemError `logbook.no-finding` */
  withdrawFinding(id: string): void {
    this.#findings.withdraw(id, this.#env.nowMs())
  }

  /** How often each cause was found by this logbook's own diagnoses; causes that never were are missing. */
  causeCounts(query: CountQuery = {}): Record<string, number> {
    return this.#findings.counts(query)
  }

  /** Ids of this logbook's own updates that are over, the latest first; at most `MOST_RUNS`. */
  endedRuns(query: RunQuery): string[] {
    return this.#runs.ended(query)
  }

  /** An update without what the line answered, and without its plan. @throws ProblemError `logbook.no-session` */
  toldRun(id: string): ToldRun {
    return this.#runs.told(this.#key(id))
  }

  #newId(atMs: number): string {
    return timeSortedId(atMs, this.#env.random(RANDOM_OCTETS))
  }

  #key(id: string): number {
    const [row] = this.#table.rows('SELECT key FROM sessions WHERE id = ?', id)
    if (row === undefined) throw this.#notOpen(id)
    return Number(row.key)
  }

  #notOpen(id: string): ProblemError {
    const isThere = this.#table.rows('SELECT 1 FROM sessions WHERE id = ?', id).length > 0
    return new ProblemError({
      code: isThere ? 'logbook.ended' : 'logbook.no-session',
      message: isThere
        ? 'This session has ended; nothing can be added to it.'
        : `There is no session "${id.slice(0, 60)}" in the logbook.`,
      ...(isThere ? {} : { remedy: 'Look at the list of sessions.' }),
    })
  }
}

const otherOfThatId = (file: string): Problem => ({
  code: 'logbook.known',
  file,
  field: 'session.id',
  message: 'There is another session of this id in the logbook, and it is not the same.',
  remedy: 'Look at the one in the logbook; this file is an older or changed copy of it.',
})
