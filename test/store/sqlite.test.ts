import { existsSync, mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { LOGBOOK_FILE } from '../../main/store/journal.ts'
import { JOURNAL_FORM } from '../../main/store/journal-form.ts'
import { isAlive, ownProcess, systemProbe } from '../../main/store/process-owner.ts'
import { loadSqlite, openDatabase, sqliteCode, transaction } from '../../main/store/sqlite.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { emptyFolder, openJournal } from '../support/journal.ts'

const NOW_MS = Date.UTC(2027, 2, 4, 5, 6, 7)
const AT_NOW = { nowMs: () => NOW_MS }
const open = await loadSqlite()

describe('a file in the place of the logbook', () => {
  it.each([
    ['no database', 'This is somebody’s shopping list. '.repeat(100)],
    ['the beginning of a database and then nothing', 'SQLite format 3\0'.padEnd(4096, '\x01')],
  ])('that is damaged (%s) is kept aside, and a new one begun', async (_, content) => {
    const folder = emptyFolder()
    writeFileSync(join(folder, LOGBOOK_FILE), content)
    const journal = await openJournal(folder, AT_NOW)
    const aside = join(folder, 'logbook.damaged-20270304T050607Z.sqlite')
    expect(journal.problem).toMatchObject({ code: 'logbook.damaged', file: aside })
    expect(readFileSync(aside, 'utf8')).toBe(content)
    journal.begin({ kind: 'write' })
    journal.close()
    const again = await openJournal(folder, AT_NOW)
    expect(again.problem).toBeUndefined()
    expect(again.sessions().sessions).toHaveLength(1)
  })

  it('that was damaged in its middle is kept aside too', async () => {
    const folder = emptyFolder()
    const file = join(folder, LOGBOOK_FILE)
    const journal = await openJournal(folder, AT_NOW)
    const id = journal.begin({ kind: 'write' })
    for (let i = 0; i < 200; i++)
      journal.append(id, { kind: 'note', level: 'info', text: `${i} ${'x'.repeat(200)}` })
    journal.close()
    const octets = readFileSync(file)
    expect(octets.length).toBeGreaterThan(40_000)
    octets.fill(0xa5, Math.floor(octets.length / 2), Math.floor(octets.length / 2) + 8192)
    writeFileSync(file, octets)
    const next = await openJournal(folder, AT_NOW)
    expect(next.problem?.code).toBe('logbook.damaged')
    expect(readFileSync(next.problem?.file ?? '').equals(octets)).toBe(true)
    // Twice within a second: neither takes the place of the other.
    next.close()
    writeFileSync(file, 'nonsense')
    const third = await openJournal(folder, AT_NOW)
    expect(third.problem?.file).toBe(join(folder, 'logbook.damaged-20270304T050607Z-2.sqlite'))
    expect(readdirSync(folder).filter(name => /^logbook\.damaged.*\.sqlite$/.test(name))).toHaveLength(2)
  })

  it('that another program made with SQLite is kept aside, whole', async () => {
    const folder = emptyFolder()
    const db = open(join(folder, LOGBOOK_FILE))
    db.exec("CREATE TABLE recipes (name TEXT); INSERT INTO recipes VALUES ('soup')")
    db.close()
    const journal = await openJournal(folder, AT_NOW)
    const aside = join(folder, 'logbook.other-20270304T050607Z.sqlite')
    expect(journal.problem).toMatchObject({ code: 'logbook.other', file: aside })
    const kept = open(aside)
    expect(kept.prepare('SELECT name FROM recipes').all()).toMatchObject([{ name: 'soup' }])
    kept.close()
  })

  it('of a newer version is refused and left as it is', async () => {
    const folder = emptyFolder()
    ;(await openJournal(folder)).close()
    const db = open(join(folder, LOGBOOK_FILE))
    db.exec('PRAGMA user_version = 99')
    db.close()
    await expect(openJournal(folder)).rejects.toMatchObject({ problem: { code: 'logbook.newer' } })
    expect(readdirSync(folder).filter(name => /damaged|other/.test(name))).toEqual([])
  })

  it('that is empty is begun, and is nobody else’s to read', async () => {
    const folder = emptyFolder()
    await openJournal(folder)
    expect(statSync(join(folder, LOGBOOK_FILE)).mode & 0o077).toBe(0)
    const other = emptyFolder()
    writeFileSync(join(other, LOGBOOK_FILE), '')
    expect((await openJournal(other)).problem).toBeUndefined()
  })

  it('that cannot be opened is a problem that names it', async () => {
    const folder = emptyFolder()
    mkdirSync(join(folder, LOGBOOK_FILE))
    await expect(openJournal(folder)).rejects.toMatchObject({
      problem: { code: 'logbook.not-opened', file: join(folder, LOGBOOK_FILE) },
    })
    expect(existsSync(join(folder, LOGBOOK_FILE))).toBe(true)
    const noFolder = join(emptyFolder(), 'file')
    writeFileSync(noFolder, '')
    await expect(openJournal(noFolder)).rejects.toMatchObject({ problem: { code: 'logbook.not-opened' } })
  })
})

describe('openDatabase', () => {
  const form = { applicationId: 7, migrations: ['CREATE TABLE a (x TEXT)'] }
  it('brings an older form to the present one, and keeps what is in it', () => {
    const path = join(emptyFolder(), 'x.sqlite')
    const { db } = openDatabase(open, path, form, 0)
    db.exec("INSERT INTO a VALUES ('kept')")
    db.close()
    const later = { ...form, migrations: [...form.migrations, 'ALTER TABLE a ADD COLUMN y TEXT'] }
    const again = openDatabase(open, path, later, 0).db
    expect(again.prepare('SELECT x, y FROM a').all()).toEqual([{ x: 'kept', y: null }])
    expect(again.prepare('PRAGMA user_version').all()).toEqual([{ user_version: 2 }])
    again.close()
  })

  it('leaves the older form whole where a step fails', () => {
    const path = join(emptyFolder(), 'x.sqlite')
    openDatabase(open, path, form, 0).db.close()
    const wrong = { ...form, migrations: [...form.migrations, 'CREATE TABLE b (x TEXT)', 'NONSENSE'] }
    expect(() => openDatabase(open, path, wrong, 0)).toThrow()
    const { db } = openDatabase(open, path, form, 0)
    expect(db.prepare("SELECT count(*) AS n FROM sqlite_schema WHERE name = 'b'").all()).toEqual([{ n: 0 }])
    db.close()
  })

  // https://www.sqlite.org/pragma.html#pragma_synchronous: in WAL mode only FULL (2) makes a commit last.
  it('makes each commit last and holds to references', () => {
    const { db } = openDatabase(open, join(emptyFolder(), 'x.sqlite'), JOURNAL_FORM, 0)
    const value = (pragma: string) => Object.values(db.prepare(`PRAGMA ${pragma}`).all()[0])[0]
    expect(['journal_mode', 'synchronous', 'foreign_keys'].map(value)).toEqual(['wal', 2, 1])
    expect(value('busy_timeout')).toBeGreaterThan(0)
    expect(() => db.exec("INSERT INTO events VALUES (99, 1, 0, '{}')")).toThrow(/FOREIGN KEY/)
    db.close()
  })

  it('does all of a transaction or nothing', () => {
    const { db } = openDatabase(open, join(emptyFolder(), 'x.sqlite'), form, 0)
    const failing = () =>
      transaction(db, () => {
        db.exec("INSERT INTO a VALUES ('half')")
        throw new ProblemError({ code: 'test.stop', message: 'Stop.' })
      })
    expect(failing).toThrow('Stop.')
    expect(db.prepare('SELECT * FROM a').all()).toEqual([])
    db.close()
  })

  it('knows an error of SQLite by its code or, where the package leaves that out, by its text', () => {
    const raised = (work: () => unknown) => {
      try {
        work()
      } catch (error) {
        return sqliteCode(error)
      }
      return 'nothing'
    }
    const { db } = openDatabase(open, join(emptyFolder(), 'x.sqlite'), form, 0)
    db.exec('PRAGMA max_page_count = 1')
    const large = 'x'.repeat(100_000)
    expect(raised(() => db.prepare('INSERT INTO a VALUES (?)').run(large))).toBe(13)
    expect(raised(() => db.prepare('INSERT INTO a VALUES (?) RETURNING x').all(large))).toBe(13)
    expect(sqliteCode(new Error('database is locked'))).toBeUndefined()
    db.close()
  })
})

describe('the owner of a session', () => {
  it('is this process, which is there', () => {
    expect(ownProcess()).toMatchObject({ pid: process.pid })
    expect(isAlive(ownProcess())).toBe(true)
  })

  it('is gone where another process has its number, or none', () => {
    const probe = { isThere: (pid: number) => pid === 5, started: () => 'now' }
    expect(isAlive({ pid: 5, started: 'now' }, probe)).toBe(true)
    expect(isAlive({ pid: 5, started: 'before' }, probe)).toBe(false)
    expect(isAlive({ pid: 6, started: 'now' }, probe)).toBe(false)
    // Nobody is declared gone where the system does not say when it began.
    expect(isAlive({ pid: 5, started: null }, probe)).toBe(true)
    expect(isAlive({ pid: 5, started: 'now' }, { ...probe, started: () => null })).toBe(true)
  })

  it.runIf(process.platform === 'linux')('is told from others by when it began', () => {
    expect(systemProbe.started(process.pid)).toMatch(/^[0-9a-f-]{36} \d+$/)
    expect(systemProbe.started(process.ppid)).not.toBe(systemProbe.started(process.pid))
    expect(systemProbe.isThere(2 ** 22 + 1)).toBe(false)
  })
})
