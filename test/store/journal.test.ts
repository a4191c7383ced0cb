import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { Journal, LOGBOOK_FILE } from '../../main/store/journal.ts'
import { loadSqlite } from '../../main/store/sqlite.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import { SESSION_KINDS } from '../../shared/logbook/session.ts'
import { readSessionFile } from '../../shared/logbook/session-file.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { emptyFolder, findingId, openJournal, ticking } from '../support/journal.ts'

const codeOf = (work: () => unknown): string => {
  try {
    work()
  } catch (error) {
    if (error instanceof ProblemError) return error.problem.code
    throw error
  }
  return 'nothing'
}
const note = (text: string): LogEvent => ({ kind: 'note', level: 'info', text })
const NOBODY = '017f22e2-79b0-7cc3-98c4-dc0c0c07398f'

describe('a session', () => {
  it('is there with its events after the file is opened again', async () => {
    const folder = emptyFolder()
    const clock = ticking()
    const first = await openJournal(folder, clock)
    const about = {
      ...({ kind: 'write', receiverId: 'wren-trainer', nickname: 'Wren', typeId: 'wren-6' } as const),
      ...{ benchName: 'Club', port: 'Blue cable', dialect: 'bus', plan: { seed: 3, steps: ['a', null] } },
      image: { name: 'w.hex', version: null, sha256: '0'.repeat(64), sizeBytes: 10 },
    }
    const id = first.begin(about)
    const events: LogEvent[] = [
      { kind: 'phase', phase: 'erase', attempt: 1 },
      { kind: 'effect', effect: 'erase', offset: 0, bytes: 2048, text: 'About to erase.' },
      note('“Ünïcode” and \0 and "quotes"'),
    ]
    for (const event of events) first.append(id, event)
    first.close()
    const again = await openJournal(folder, clock)
    const read = again.session(id)
    expect(read.session).toMatchObject({ ...about, id, endedAtMs: null, outcome: null, eventCount: 3 })
    expect(read.events.map(({ event }) => event)).toEqual(events)
    expect(read.events.map(({ seq }) => seq)).toEqual([1, 2, 3])
    expect(read.events[1].atMs).toBeGreaterThan(read.events[0].atMs)
    again.end(id, { ending: 'failed', outcome: 'needs-cable' })
    expect(again.sessions().sessions).toMatchObject([{ id, ending: 'failed', outcome: 'needs-cable' }])
  })

  it('takes several events in their order, and all of them or none', async () => {
    const journal = await openJournal()
    const id = journal.begin({ kind: 'write' })
    journal.append(id, note('one'), note('two'))
    expect(() => journal.append(id, note('three'), { kind: 'shout' } as unknown as LogEvent)).toThrow()
    expect(codeOf(() => journal.append(NOBODY, note('a'), note('b')))).toBe('logbook.no-session')
    expect(journal.session(id).events.map(({ seq, event }) => [seq, event])).toEqual([
      [1, note('one')],
      [2, note('two')],
    ])
  })

  it('takes nothing any more once it has ended, and ends once', async () => {
    const journal = await openJournal()
    const id = journal.begin({ kind: 'guided' })
    journal.end(id, { ending: 'done', outcome: 'updated' })
    expect(codeOf(() => journal.append(id, note('late')))).toBe('logbook.ended')
    expect(codeOf(() => journal.end(id, { ending: 'cancelled' }))).toBe('logbook.ended')
    expect(journal.session(id)).toMatchObject({ session: { ending: 'done' }, events: [] })
  })

  it('is asked for by an id that is there', async () => {
    const journal = await openJournal()
    expect(codeOf(() => journal.session(NOBODY))).toBe('logbook.no-session')
    expect(codeOf(() => journal.append(NOBODY, note('x')))).toBe('logbook.no-session')
    expect(codeOf(() => journal.end(NOBODY, { ending: 'done' }))).toBe('logbook.no-session')
    expect(codeOf(() => journal.sessions({ before: NOBODY }))).toBe('logbook.no-session')
    expect(journal.sessions()).toEqual({ sessions: [], next: null })
    const id = journal.begin({ kind: 'write' })
    expect(journal.idsLike(id.slice(0, 8))).toEqual([id])
    expect(journal.idsLike('%')).toEqual([])
  })

  it('does not take an event or a head that is none', async () => {
    const journal = await openJournal()
    const id = journal.begin({ kind: 'write' })
    expect(() => journal.append(id, { kind: 'shout' } as unknown as LogEvent)).toThrow()
    expect(() => journal.begin({ kind: 'write', receiverId: 'Not An Id' })).toThrow()
    expect(journal.session(id).events).toEqual([])
  })

  it('says that an event could not be kept where the disk is full, and goes on when there is room', async () => {
    const folder = emptyFolder()
    const open = await loadSqlite()
    let limit = (_pages: number) => {}
    const journal = await openJournal(folder, {
      loadSqlite: async () => path => {
        const db = open(path)
        limit = pages => db.exec(`PRAGMA max_page_count = ${pages}`)
        return db
      },
    })
    const id = journal.begin({ kind: 'write' })
    limit(1)
    let kept = 0
    const code = codeOf(() => {
      for (; kept < 1_000; kept++) journal.append(id, note('x'.repeat(5_000)))
    })
    expect(code).toBe('logbook.not-saved')
    expect(journal.session(id).events).toHaveLength(kept)
    limit(100_000)
    journal.append(id, note('there is room'))
    expect(journal.session(id).events).toHaveLength(kept + 1)
  })
})

describe('sessions()', () => {
  it('gives them by pages, the latest first, none twice and none left out', async () => {
    const clock = ticking()
    const journal = await openJournal(undefined, clock)
    const ids: string[] = []
    for (let i = 0; i < 25; i++) {
      // Several within one millisecond.
      clock.set(1_000 + Math.floor(i / 4))
      ids.push(
        journal.begin({ kind: SESSION_KINDS[i % 3], receiverId: i % 2 === 0 ? 'wren-trainer' : 'heron' }),
      )
    }
    const paged: string[] = []
    for (let before: string | null | undefined; before !== null; ) {
      const page = journal.sessions({ limit: 4, before })
      expect(page.sessions.length).toBeLessThanOrEqual(4)
      paged.push(...page.sessions.map(s => s.id))
      before = page.next
    }
    expect(paged).toEqual([...ids].reverse())
    const evens = journal.sessions({ receiverId: 'wren-trainer' }).sessions.map(s => s.id)
    expect(evens).toEqual(ids.filter((_, i) => i % 2 === 0).reverse())
    const both = journal.sessions({ receiverId: 'heron', kind: 'guided', limit: 2 })
    expect(both.sessions.map(s => s.id)).toEqual(
      ids
        .filter((_, i) => i % 2 === 1 && i % 3 === 1)
        .reverse()
        .slice(0, 2),
    )
    expect(both.next).toBe(both.sessions[1].id)
  })

  it('finds them by an index, sorting nothing, however many there are', async () => {
    const folder = emptyFolder()
    const journal = await openJournal(folder)
    journal.begin({ kind: 'write' })
    const db = (await loadSqlite())(join(folder, LOGBOOK_FILE))
    const plan = (where: string) =>
      db
        .prepare(
          `EXPLAIN QUERY PLAN SELECT * FROM sessions s ${where} ORDER BY s.started_at DESC, s.key DESC LIMIT 9`,
        )
        .all()
        .map(row => String(row.detail))
        .join('; ')
    expect(plan('')).toMatch(/USING INDEX sessions_by_time/)
    expect(plan("WHERE s.receiver_id = 'a'")).toMatch(/USING INDEX sessions_by_receiver/)
    expect(plan("WHERE s.kind = 'write'")).toMatch(/USING INDEX sessions_by_kind/)
    expect(plan('WHERE s.ended_at IS NULL')).toMatch(/USING INDEX sessions_open/)
    for (const where of ['', "WHERE s.kind = 'write' AND (s.started_at, s.key) < (9, 9)"])
      expect(plan(where)).not.toMatch(/TEMP B-TREE/)
    db.close()
  })
})

describe('interrupted()', () => {
  it('names those that have not ended and whose process is gone', async () => {
    const folder = emptyFolder()
    const clock = ticking()
    const gone = await openJournal(folder, { ...clock, owner: () => ({ pid: 17, started: 'before' }) })
    const lost = gone.begin({ kind: 'write', receiverId: 'heron' })
    const later = gone.begin({ kind: 'guided' })
    gone.end(gone.begin({ kind: 'write' }), { ending: 'done', outcome: 'updated' })
    const here = await openJournal(folder, {
      ...clock,
      isAlive: ({ pid, started }) => pid !== 17 || started !== 'before',
    })
    here.begin({ kind: 'write' })
    expect(here.interrupted().map(s => s.id)).toEqual([later, lost])
    here.append(lost, { kind: 'state', state: 'in-boot-loader', text: 'It waits in its boot loader.' })
    here.end(lost, { ending: 'interrupted', outcome: 'needs-cable' })
    expect(here.interrupted().map(s => s.id)).toEqual([later])
    const recovery = here.begin({ kind: 'write', recovers: lost })
    expect(here.session(recovery).session.recovers).toBe(lost)
  })

  it('does not name what this very process has under way', async () => {
    const journal = await openJournal()
    journal.begin({ kind: 'write' })
    expect(journal.interrupted()).toEqual([])
  })
})

describe('a session that is exported', () => {
  it('is the same in another logbook, ended or not, and nobody’s to recover there', async () => {
    const from = await openJournal(undefined, { owner: () => ({ pid: 1, started: 'x' }) })
    const id = from.begin({ kind: 'write', receiverId: 'heron', plan: { deep: [{ a: 1 }] } })
    from.append(id, { kind: 'effect', effect: 'write', offset: 0, bytes: 64, text: 'About to write.' })
    from.append(id, { kind: 'attempt-failed', attempt: 1, code: 'no-answer', text: 'Silence.' })
    const text = from.exportSession(id)
    expect(readSessionFile(text, 'x.json')).toMatchObject({ ok: true, value: { session: { id } } })
    const to = await openJournal(undefined, { isAlive: () => false })
    expect(to.importSession(text, 'x.json')).toMatchObject({ ok: true, value: { id, isNew: true } })
    expect(to.exportSession(id)).toBe(text)
    expect(to.session(id).events).toEqual(from.session(id).events)
    expect(to.session(id).session.importedAtMs).toBeGreaterThan(0)
    expect(to.interrupted()).toEqual([])
    expect(to.importSession(text, 'x.json')).toMatchObject({ ok: true, value: { isNew: false } })
    const other = text.replace('Silence.', 'Noise.')
    expect(to.importSession(other, 'y.json')).toMatchObject({
      ok: false,
      problems: [{ code: 'logbook.known', file: 'y.json', field: 'session.id' }],
    })
    expect(to.importSession('{}', 'z.json')).toMatchObject({ problems: [{ code: 'session.not-a-session' }] })
    expect(to.sessions().sessions).toHaveLength(1)
  })

  it('takes its find along, which does not count elsewhere', async () => {
    const from = await openJournal()
    const finding = {
      ...({ id: findingId(), symptom: 'stops', route: 'cable' } as const),
      ...{ causes: ['supply-weak'], tried: [], isOneOf: false, answers: { 'line-quiet': 'no' } as const },
    }
    const id = from.recordFinding({ receiverId: 'heron', finding })
    const to = await openJournal()
    to.importSession(from.exportSession(id), 'x.json')
    expect(to.session(id).finding).toEqual(from.session(id).finding)
    expect(from.causeCounts()).toEqual({ 'supply-weak': 1 })
    expect(to.causeCounts()).toEqual({})
  })
})

describe('finds', () => {
  const find = (causes: string[], id = findingId()) => ({
    ...({ id, symptom: 'not-offered', route: 'wireless' } as const),
    ...{ causes, tried: ['card-full'], isOneOf: false },
    answers: { 'line-quiet': 'no', 'range-good': 'cannot-check' } as const,
  })

  it('are sessions of their own, with the answers for events', async () => {
    const journal = await openJournal()
    const finding = find(['supply-weak', 'line-noisy'])
    const id = journal.recordFinding({
      ...{ receiverId: 'heron', nickname: 'Heron', typeId: 'heron-8', benchName: 'Club', finding },
    })
    const read = journal.session(id)
    expect(read.session).toMatchObject({ kind: 'diagnosis', ending: 'done', nickname: 'Heron' })
    expect(read.finding).toMatchObject({ ...finding, withdrawnAtMs: null })
    expect(read.events.map(({ event }) => event)).toEqual([
      { kind: 'answer', to: 'line-quiet', said: 'no' },
      { kind: 'answer', to: 'range-good', said: 'cannot-check' },
    ])
    expect(journal.interrupted()).toEqual([])
  })

  it('count once, by cause, until they are taken back', async () => {
    const journal = await openJournal()
    const first = find(['supply-weak'])
    const one = journal.recordFinding({ typeId: 'heron-8', benchName: 'Club', finding: first })
    expect(journal.recordFinding({ typeId: 'heron-8', finding: first })).toBe(one)
    journal.recordFinding({
      typeId: 'wren-6',
      benchName: 'Demo',
      finding: find(['supply-weak', 'line-noisy']),
    })
    journal.recordFinding({ finding: find(['line-noisy']) })
    expect(journal.causeCounts()).toEqual({ 'line-noisy': 2, 'supply-weak': 2 })
    expect(journal.causeCounts({ typeId: 'heron-8' })).toEqual({ 'supply-weak': 1 })
    expect(journal.causeCounts({ benchName: 'Demo' })).toEqual({ 'line-noisy': 1, 'supply-weak': 1 })
    expect(journal.causeCounts({ exceptBenchName: 'Demo' })).toEqual({ 'line-noisy': 1, 'supply-weak': 1 })
    journal.withdrawFinding(first.id)
    journal.withdrawFinding(first.id)
    expect(journal.causeCounts()).toEqual({ 'line-noisy': 2, 'supply-weak': 1 })
    expect(journal.session(one).finding?.withdrawnAtMs).toBeGreaterThan(0)
    journal.recordFinding({ finding: { ...find(['supply-weak', 'line-noisy']), isOneOf: true } })
    expect(journal.causeCounts()).toEqual({ 'line-noisy': 2, 'supply-weak': 1 })
    expect(codeOf(() => journal.withdrawFinding(findingId()))).toBe('logbook.no-finding')
    expect(journal.sessions({ kind: 'diagnosis' }).sessions).toHaveLength(4)
  })

  it('leave nothing behind where one of them cannot be kept', async () => {
    const journal = await openJournal()
    expect(() => journal.recordFinding({ finding: find([]) })).toThrow()
    expect(journal.sessions().sessions).toEqual([])
  })
})

it('is not there where SQLite does not start, and says so', async () => {
  const broken = new ProblemError({ code: 'logbook.no-sqlite', message: 'No.' })
  const opening = Journal.open(emptyFolder(), { loadSqlite: () => Promise.reject(broken) })
  await expect(opening).rejects.toMatchObject({ problem: { code: 'logbook.no-sqlite' } })
})
