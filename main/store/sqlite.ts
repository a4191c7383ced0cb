import { chmodSync, closeSync, existsSync, openSync, renameSync, statSync } from 'node:fs'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'

/**
 * The little that is used of SQLite. The package behind it has the interface of `node:sqlite`, which can take its place
 * in `loadSqlite`.
 */
export type SqlValue = string | number | null
export type Row = Readonly<Record<string, unknown>>
export interface Statement {
  run(...values: readonly SqlValue[]): { readonly changes: number | bigint }
  all(...values: readonly SqlValue[]): Row[]
}
export interface Database {
  exec(sql: string): void
  prepare(sql: string): Statement
  close(): void
}
export type OpenSqlite = (path: string) => Database

/** How long one process waits for another that writes. */
export const BUSY_MS = 10_000

/** @throws ProblemError `logbook.no-sqlite` where the package cannot be loaded on this machine */
export async function loadSqlite(): Promise<OpenSqlite> {
  try {
    const { DatabaseSync } = await import('@photostructure/sqlite')
    return path => new DatabaseSync(path, { timeout: BUSY_MS })
  } catch (error) {
    throw new ProblemError({
      code: 'logbook.no-sqlite',
      message: `There is no logbook on this computer: the part that keeps it, SQLite, does not start (${reason(error)}).`,
      remedy: 'Everything else works. Install Preflash anew with "npm ci" to have the logbook too.',
    })
  }
}

const reason = (error: unknown): string =>
  (error instanceof Error ? error.message : String(error)).split('\n')[0].slice(0, 200)

/** Result codes: https://www.sqlite.org/rescode.html. Extended codes have them in their lowest octet. */
const CODE = { busy: 5, readOnly: 8, io: 10, corrupt: 11, full: 13, cannotOpen: 14, notADatabase: 26 }

/** The package leaves the code out where a statement that gives rows fails: https://www.sqlite.org/c3ref/errcode.html */
const CODE_BY_TEXT: Readonly<Record<string, number>> = {
  'database is locked': CODE.busy,
  'attempt to write a readonly database': CODE.readOnly,
  'disk I/O error': CODE.io,
  'database disk image is malformed': CODE.corrupt,
  'database or disk is full': CODE.full,
  'unable to open database file': CODE.cannotOpen,
  'file is not a database': CODE.notADatabase,
}

/** The primary result code of an error of SQLite; undefined for any other error. */
export function sqliteCode(error: unknown): number | undefined {
  if (!(error instanceof Error)) return undefined
  if ('errcode' in error && typeof error.errcode === 'number') return error.errcode & 0xff
  return 'code' in error && error.code === 'ERR_SQLITE_ERROR' ? CODE_BY_TEXT[error.message] : undefined
}

const isDamage = (error: unknown): boolean =>
  [CODE.corrupt, CODE.notADatabase].includes(sqliteCode(error) ?? -1)

/** What an error of SQLite means for the person; the error itself where it is not one of the machine's. */
export function problemOfSqlite(error: unknown, file: string): unknown {
  const problem = (code: string, message: string, remedy: string) =>
    new ProblemError({ code, file, message, remedy })
  const notOpened = () =>
    problem(
      'logbook.not-opened',
      'The logbook cannot be opened.',
      'Look whether its folder is there and may be written to.',
    )
  // Of the file system: the file could not be looked at, or not set aside.
  if (error instanceof Error && 'syscall' in error) return notOpened()
  switch (sqliteCode(error)) {
    case CODE.busy:
      return problem(
        'logbook.busy',
        'Another program holds the logbook and does not let go of it.',
        'Close other windows of Preflash, then try again.',
      )
    case CODE.full:
    case CODE.io:
    case CODE.readOnly:
      return problem(
        'logbook.not-saved',
        'This could not be written into the logbook; what was in it is still there.',
        'Look whether the disk is full, and whether its folder may be written to.',
      )
    case CODE.cannotOpen:
      return notOpened()
    case CODE.corrupt:
    case CODE.notADatabase:
      return problem(
        'logbook.damaged',
        'The logbook is damaged.',
        'Start Preflash again: it keeps this file aside and begins a new one.',
      )
    default:
      return error
  }
}

/** Runs it as one: all of it is there afterwards, or nothing. It waits for others before, never in the middle. */
export function transaction<T>(db: Database, work: () => T): T {
  db.exec('BEGIN IMMEDIATE')
  try {
    const result = work()
    db.exec('COMMIT')
    return result
  } catch (error) {
    try {
      db.exec('ROLLBACK')
    } catch {
      // SQLite has taken it back already: https://www.sqlite.org/lang_transaction.html, section 3
    }
    throw error
  }
}

/** What a file is for, and how it came to its present form. */
export interface Form {
  /** Marks the files that are ours: https://www.sqlite.org/pragma.html#pragma_application_id */
  readonly applicationId: number
  /** The first makes version 1 out of an empty file. Never change one that was released; add another. */
  readonly migrations: readonly string[]
}

export interface Opened {
  readonly db: Database
  /** What was set aside, and where it is. */
  readonly problem?: Problem
}

/**
 * Opens a file, brings it to the present form, and makes every commit last: write-ahead log, synced at each commit
 * (https://www.sqlite.org/pragma.html#pragma_synchronous). What is damaged or of another program is renamed, never
 * deleted, and a new file begun.
 * @throws ProblemError `logbook.newer`, and those of problemOfSqlite
 */
export function openDatabase(open: OpenSqlite, path: string, form: Form, nowMs: number): Opened {
  try {
    const before = identity(path)
    try {
      return { db: openChecked(open, path, form) }
    } catch (error) {
      if (!isDamage(error) && !(error instanceof NotOurs)) throw error
      // Another process may have set it aside meanwhile.
      const problem =
        before !== undefined && before === identity(path) ? setAside(path, nowMs, error) : undefined
      return { db: openChecked(open, path, form), ...(problem ? { problem } : {}) }
    }
  } catch (error) {
    throw problemOfSqlite(error, path)
  }
}

class NotOurs extends Error {}

function identity(path: string): string | undefined {
  const about = statSync(path, { throwIfNoEntry: false, bigint: true })
  return about && `${about.dev}:${about.ino}`
}

function openChecked(open: OpenSqlite, path: string, form: Form): Database {
  makePrivate(path)
  const db = open(path)
  try {
    db.exec(`PRAGMA busy_timeout = ${BUSY_MS}; PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL`)
    checkOurs(db, form)
    check(db)
    patiently(() => db.exec('PRAGMA journal_mode = WAL'))
    migrate(db, path, form)
    return db
  } catch (error) {
    db.close()
    throw error
  }
}

/** Others who use this computer have no business in it. SQLite gives its side files the same permissions. */
function makePrivate(path: string): void {
  if (existsSync(path)) return
  try {
    closeSync(openSync(path, 'wx', 0o600))
    chmodSync(path, 0o600)
  } catch {
    // Made by another process meanwhile, or it cannot be made: SQLite says so.
  }
}

/**
 * Whether a condition holds. Without a prepared statement: the package keeps a file open after `close` for as long as
 * one of those is in memory, and an open file cannot be set aside on every system.
 */
function holds(db: Database, condition: string): boolean {
  try {
    db.exec(`SELECT iif(${condition}, 1, json('no'))`)
    return true
  } catch (error) {
    if (error instanceof Error && error.message === 'malformed JSON') return false
    throw error
  }
}

const pragmaIs = (pragma: string, value: number): string =>
  `(SELECT ${pragma} FROM pragma_${pragma}) = ${value}`

function checkOurs(db: Database, { applicationId }: Form): void {
  const isEmpty = `(${pragmaIs('application_id', 0)} AND NOT EXISTS (SELECT 1 FROM sqlite_schema))`
  if (!holds(db, `${pragmaIs('application_id', applicationId)} OR ${isEmpty}`)) throw new NotOurs()
}

/** All of the file; a million events take a quarter of a second. */
function check(db: Database): void {
  if (holds(db, "(SELECT quick_check FROM pragma_quick_check) = 'ok'")) return
  throw Object.assign(new Error('the check found damage'), { errcode: CODE.corrupt })
}

/** Going over to the write-ahead log does not wait for others by itself. */
function patiently(work: () => void): void {
  const pause = new Int32Array(new SharedArrayBuffer(4))
  for (let waitedMs = 0; ; waitedMs += 20) {
    try {
      work()
      return
    } catch (error) {
      if (sqliteCode(error) !== CODE.busy || waitedMs >= BUSY_MS) throw error
      Atomics.wait(pause, 0, 0, 20)
    }
  }
}

function migrate(db: Database, file: string, { applicationId, migrations }: Form): void {
  const isAt = (version: number) => holds(db, pragmaIs('user_version', version))
  if (isAt(migrations.length)) return
  transaction(db, () => {
    // Looked at again, now that nobody else can change it.
    if (isAt(migrations.length)) return
    const from = migrations.findIndex((_, version) => isAt(version))
    if (from < 0)
      throw new ProblemError({
        code: 'logbook.newer',
        file,
        message: 'The logbook was written by a newer version of Preflash.',
        remedy: 'Use that version, or another data folder. Nothing in the logbook was changed.',
      })
    for (const migration of migrations.slice(from)) db.exec(migration)
    db.exec(`PRAGMA application_id = ${applicationId}; PRAGMA user_version = ${migrations.length}`)
  })
}

/** With its side files, so that what is in them can still be saved. */
function setAside(path: string, nowMs: number, why: unknown): Problem {
  const kind = why instanceof NotOurs ? 'other' : 'damaged'
  const stamp = new Date(nowMs).toISOString().replaceAll(/[-:]|\.\d+/g, '')
  const [, stem, suffix] = /^(.*?)(\.[^.\\/]*)?$/s.exec(path) ?? ['', path, '']
  let aside = `${stem}.${kind}-${stamp}${suffix ?? ''}`
  for (let n = 2; existsSync(aside); n++) aside = `${stem}.${kind}-${stamp}-${n}${suffix ?? ''}`
  // The file last: a side file left behind would be taken for one of the new file.
  for (const side of ['-wal', '-shm', '-journal', ''])
    if (existsSync(path + side)) renameSync(path + side, aside + side)
  return {
    code: `logbook.${kind}`,
    file: aside,
    message:
      kind === 'damaged'
        ? 'The logbook was damaged, so a new one was begun. The damaged one is kept in this file.'
        : 'The file in the place of the logbook belongs to another program, so a new logbook was begun. The other file is kept here.',
    remedy: 'Keep it if you need what is in it: a friend who knows SQLite may be able to save most of it.',
  }
}
