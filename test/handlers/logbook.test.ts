import { existsSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { createHandlers } from '../../main/handlers/index.ts'
import { logbookHandlers } from '../../main/handlers/logbook.ts'
import { Journal, LOGBOOK_FILE } from '../../main/store/journal.ts'
import { countsFor, Logbook } from '../../main/store/logbook.ts'
import { simulateHere } from '../../main/work/simulate.ts'
import { contract } from '../../shared/api/contract.ts'
import { logbookMethods } from '../../shared/api/logbook.ts'
import { makeEvents, serveContract } from '../../shared/api/serve.ts'
import { DEMO_BENCH_NAME, demoBench } from '../../shared/demo/bench.ts'
import { diagnosisSchema } from '../../shared/diagnose/report.ts'
import { readSessionFile } from '../../shared/logbook/session-file.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { emptyFolder, findingId, openJournal } from '../support/journal.ts'

const bench = { ...demoBench(), name: 'My own bench' }
const asked = { bench, receiverId: 'wren-trainer', symptom: 'no-telemetry' } as const

function served(folder: string) {
  const events = makeEvents(contract)
  const env = { hostKind: 'browser', dataFolder: folder, events, simulate: simulateHere() } as const
  const serve = serveContract(contract, createHandlers(env), error => expect.fail(String(error)))
  async function call<M extends keyof typeof logbookMethods>(method: M, request: unknown) {
    const outcome = await serve(method, request)
    if (!outcome.ok) throw new Error(outcome.problems.map(p => p.code).join())
    return outcome.reply as never
  }
  return { serve, call }
}
const ended = (causes: string[], benchName: string | null = bench.name, id = findingId()) => ({
  ...{ receiverId: 'wren-trainer', nickname: 'Wren', typeId: 'aldwick-wren-6', benchName },
  finding: {
    ...{ id, symptom: 'no-telemetry', route: 'wireless', causes, isOneOf: false },
    ...{ answers: { 'module-on': 'yes' }, tried: [] },
  },
})
async function diagnosed(serve: ReturnType<typeof served>['serve'], request: object = asked) {
  const outcome = await serve('diagnose.run', request)
  if (!outcome.ok) throw new Error(outcome.problems.map(p => p.code).join())
  return diagnosisSchema.parse(outcome.reply)
}
const likelihoodOf = (d: Awaited<ReturnType<typeof diagnosed>>, id: string): number =>
  d.causes.find(c => c.members.length === 1 && c.members[0].id === id)?.likelihood ?? 0

describe('the logbook over the contract', () => {
  it('is not begun by looking at it', async () => {
    const folder = emptyFolder()
    const { serve, call } = served(folder)
    expect(await call('log.sessions', {})).toEqual({ sessions: [], next: null })
    expect(await call('log.interrupted', {})).toEqual({ sessions: [] })
    expect((await diagnosed(serve)).counted).toBe(0)
    expect(existsSync(join(folder, LOGBOOK_FILE))).toBe(false)
  })

  it('changes the odds by what was found, says so, and takes it back when it came back', async () => {
    const folder = emptyFolder()
    const { serve, call } = served(folder)
    const before = await diagnosed(serve)
    const cause = before.causes[before.causes.length - 1].members[0].id
    const once = ended([cause])
    const first = await call('diagnose.ended', once)
    expect(await call('diagnose.ended', once)).toEqual(first)
    for (let i = 0; i < 9; i++) await call('diagnose.ended', ended([cause]))
    const after = await diagnosed(serve)
    expect(after.counted).toBe(10)
    expect(likelihoodOf(after, cause)).toBeGreaterThan(likelihoodOf(before, cause) + 0.1)
    const member = after.causes.flatMap(c => c.members).find(m => m.id === cause)
    expect(member?.rate).toContain('your own logbook counts it 10 times')
    await call('diagnose.cameBack', { id: once.finding.id })
    expect((await diagnosed(serve)).counted).toBe(9)
    // What the window brings itself goes before.
    expect((await diagnosed(serve, { ...asked, counts: { [cause]: 3 } })).counted).toBe(3)
    const unknown = await serve('diagnose.cameBack', { id: findingId() })
    expect(unknown).toMatchObject({ ok: false, problems: [{ code: 'logbook.no-finding' }] })
  })

  it('keeps exercises on the demo bench apart', async () => {
    const { serve, call } = served(emptyFolder())
    const cause = (await diagnosed(serve)).causes[0].members[0].id
    await call('diagnose.ended', ended([cause], DEMO_BENCH_NAME))
    expect((await diagnosed(serve)).counted).toBe(0)
    expect((await diagnosed(serve, { ...asked, bench: demoBench() })).counted).toBe(1)
    await call('diagnose.ended', ended([cause], 'Another bench'))
    await call('diagnose.ended', ended([cause], null))
    expect((await diagnosed(serve)).counted).toBe(2)
    expect((await diagnosed(serve, { ...asked, bench: demoBench() })).counted).toBe(1)
  })

  it('lists, shows and exports sessions', async () => {
    const folder = emptyFolder()
    const { serve, call } = served(folder)
    const { session: id } = (await call('diagnose.ended', ended(['module-off']))) as { session: string }
    const other = await openJournal(folder, { owner: () => ({ pid: 2 ** 30, started: 'never' }) })
    const lost = other.begin({ kind: 'write', receiverId: 'heron' })
    const page = logbookMethods['log.sessions'].reply.parse(await call('log.sessions', { limit: 1 }))
    expect(page.sessions.map(s => s.id)).toEqual([lost])
    expect(page.next).toBe(lost)
    const rest = await call('log.sessions', { before: lost, kind: 'diagnosis', receiverId: 'wren-trainer' })
    expect(rest).toMatchObject({ sessions: [{ id, kind: 'diagnosis' }], next: null })
    expect(await call('log.interrupted', {})).toMatchObject({ sessions: [{ id: lost }] })
    expect(await call('log.session', { id })).toMatchObject({
      session: { id, benchName: bench.name },
      events: [{ seq: 1, event: { kind: 'answer', to: 'module-on', said: 'yes' } }],
      finding: { causes: ['module-off'] },
    })
    const file = (await call('log.export', { id })) as { fileName: string; text: string }
    expect(file.fileName).toBe(`session-${id}.json`)
    expect(readSessionFile(file.text, 'x.json')).toMatchObject({ ok: true, value: { session: { id } } })
    expect(await serve('log.session', { id: findingId() })).toMatchObject({
      ok: false,
      problems: [{ code: 'logbook.no-session' }],
    })
    expect((await serve('log.session', { id: 'x' })).ok).toBe(false)
  })

  it('says what it set aside, and goes on', async () => {
    const folder = emptyFolder()
    writeFileSync(join(folder, LOGBOOK_FILE), 'not a logbook at all')
    const { serve, call } = served(folder)
    expect((await diagnosed(serve)).counted).toBe(0)
    expect(await call('log.sessions', {})).toMatchObject({
      sessions: [],
      problem: { code: 'logbook.damaged' },
    })
  })

  it('is missing where SQLite does not start: one plain problem, and the diagnosis still works', async () => {
    const broken = new ProblemError({ code: 'logbook.no-sqlite', message: 'There is no logbook here.' })
    let tries = 0
    const folder = emptyFolder()
    const logbook = new Logbook(folder, {
      loadSqlite: () => {
        tries++
        return Promise.reject(broken)
      },
    })
    const handlers = logbookHandlers(logbook)
    writeFileSync(logbook.file, '')
    await expect(
      handlers['log.sessions'](logbookMethods['log.sessions'].request.parse({})),
    ).rejects.toMatchObject({ problem: { code: 'logbook.no-sqlite' } })
    expect(await logbook.counts('x')).toEqual({ counts: {}, secondTries: [], problem: broken.problem })
    expect(tries).toBe(2)
    await logbook.close()
  })
})

describe('Logbook', () => {
  it('is opened once for all who ask, and anew after it was closed', async () => {
    const folder = emptyFolder()
    const logbook = new Logbook(folder)
    const [a, b] = await Promise.all([logbook.use(j => j), logbook.use(j => j)])
    expect(a).toBeInstanceOf(Journal)
    expect(b).toBe(a)
    await logbook.close()
    const c = await logbook.use(j => j)
    expect(c).not.toBe(a)
    expect(countsFor(c, 'x')).toEqual({})
    await logbook.close()
  })

  it('opens a damaged one anew', async () => {
    const logbook = new Logbook(emptyFolder())
    const first = await logbook.use(j => j)
    const damaged = new ProblemError({ code: 'logbook.damaged', message: 'Damaged.' })
    await expect(
      logbook.use(() => {
        throw damaged
      }),
    ).rejects.toBe(damaged)
    expect(await logbook.use(j => j)).not.toBe(first)
    await logbook.close()
  })
})
