import { describe, expect, it } from 'vitest'
import { ReadRuns, type UseJournal } from '../../main/store/experience.ts'
import type { Journal } from '../../main/store/journal.ts'
import { MOST_RUNS } from '../../main/store/journal-runs.ts'
import { Logbook } from '../../main/store/logbook.ts'
import { DEMO_BENCH_NAME } from '../../shared/demo/bench.ts'
import { WHOLE } from '../../shared/experience/write-facts.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { toLogged } from '../../shared/runbook/logged.ts'
import { Run, runbookOf } from '../runbook/fixture.ts'
import { emptyFolder, openJournal } from '../support/journal.ts'
import { smallRequest } from '../support/small-bench.ts'

const runbook = runbookOf(smallRequest())
const went = (first: 'worked' | 'failed'): Run => {
  const run = new Run(runbook)
  if (first === 'failed') run.sawUntil('watch').otherBy(/stopped on the way/)
  while (run.state.at !== 'ended') run.say('saw')
  return run
}
const [worked, failed] = [went('worked'), went('failed')]

/** Two seconds for each answer. */
function clock(fromMs = 1_700_000_000_000) {
  let nowMs = fromMs
  return { nowMs: () => (nowMs += 2_000) }
}

function guided(journal: Journal, run: Run, benchName: string | null = 'My bench', isEnded = true): string {
  const { typeId } = runbook.receiver
  const id = journal.begin({ kind: 'guided', benchName, typeId, plan: runbook })
  for (const answer of run.answers) journal.append(id, toLogged(runbook, answer))
  if (isEnded) journal.end(id, { ending: 'done' })
  return id
}

const WRITE: readonly LogEvent[] = [
  { kind: 'effect', effect: 'line', text: 'Open A' },
  { kind: 'phase', phase: 'identify', attempt: 1 },
  { kind: 'phase', phase: 'write', attempt: 1 },
]
const FAILED: LogEvent = {
  kind: 'attempt-failed',
  attempt: 1,
  code: 'lost-contact',
  text: 'Nothing came back.',
}

function written(
  journal: Journal,
  events: readonly LogEvent[],
  benchName: string | null = 'My bench',
): string {
  const id = journal.begin({ kind: 'write', benchName, typeId: 'wren', dialect: 'preflash-bus' })
  for (const event of events) journal.append(id, event)
  journal.end(id, { ending: 'done' })
  return id
}

const all = { exceptBenchName: DEMO_BENCH_NAME }
const using =
  (journal: Journal): UseJournal =>
  async work =>
    work(journal)

describe('what the updates of a logbook tell', () => {
  it('is read from their answers and times', async () => {
    const journal = await openJournal(emptyFolder(), clock())
    guided(journal, worked)
    guided(journal, failed)
    const [latest, first] = await new ReadRuns().facts(using(journal), { kind: 'guided', ...all })
    expect(first).toMatchObject({ way: 'cable', first: 'worked', times: { watch: 2_000 } })
    expect(latest).toMatchObject({ first: 'failed', second: 'worked', secondTry: { symptom: 'stops' } })
  })

  it('is read from writes without what the line answered', async () => {
    const journal = await openJournal(emptyFolder(), clock())
    const answers: LogEvent = { kind: 'answers', answers: ['x'.repeat(1_000)] }
    const id = written(journal, [...WRITE, answers])
    expect(journal.toldRun(id).events.map(({ event }) => event)).toEqual(WRITE)
    written(journal, [...WRITE, FAILED, answers, ...WRITE.slice(1)])
    const facts = await new ReadRuns().facts(using(journal), { kind: 'write', ...all })
    expect(facts).toMatchObject([
      { first: 'failed', second: 'worked', secondTry: { route: 'cable' } },
      { way: 'preflash-bus', first: 'worked', times: { [WHOLE]: 6_000 } },
    ])
    expect(await new ReadRuns().secondTries(using(journal), all)).toHaveLength(1)
  })

  it('leaves out what is not over, what was taken over from elsewhere, and the runbook of another version', async () => {
    const elsewhere = await openJournal(emptyFolder())
    const text = elsewhere.exportSession(guided(elsewhere, failed))
    const journal = await openJournal()
    expect(journal.importSession(text, 'a.json').ok).toBe(true)
    guided(journal, failed, 'My bench', false)
    const other = journal.begin({ kind: 'guided', plan: { format: 'another' } })
    journal.end(other, { ending: 'done' })
    expect(await new ReadRuns().facts(using(journal), { kind: 'guided', ...all })).toEqual([])
  })

  it('is of the latest ones only, and each is read once', async () => {
    const journal = await openJournal()
    for (let i = 0; i < MOST_RUNS + 5; i++) written(journal, i < 5 ? [...WRITE, FAILED] : WRITE)
    const runs = new ReadRuns()
    const query = { kind: 'write', ...all } as const
    const facts = await runs.facts(using(journal), query)
    expect(facts).toHaveLength(MOST_RUNS)
    expect(facts.every(one => one.first === 'worked')).toBe(true)
    const again = await runs.facts(using(journal), query)
    expect(again.every((one, i) => one === facts[i])).toBe(true)
  })
})

describe('the experience of a bench', () => {
  const about = { kind: 'guided', way: 'cable', typeId: runbook.receiver.typeId } as const

  it('begins no logbook, and is nothing without one', async () => {
    const logbook = new Logbook(emptyFolder())
    expect(await logbook.experience({ ...about, benchName: 'My bench' })).toEqual({
      first: null,
      second: null,
      times: {},
    })
    await logbook.close()
  })

  it('keeps the runs on the demo bench apart; all others count together', async () => {
    const logbook = new Logbook(emptyFolder())
    await logbook.use(journal => {
      guided(journal, worked)
      guided(journal, failed, 'Another bench')
      guided(journal, failed, null)
      guided(journal, failed, DEMO_BENCH_NAME)
    })
    const of = async (benchName: string | null) => (await logbook.experience({ ...about, benchName })).first
    expect(await of('My bench')).toMatchObject({ failed: 2, of: 3, isOfType: true })
    expect(await of(null)).toMatchObject({ failed: 2, of: 3 })
    expect(await of(DEMO_BENCH_NAME)).toMatchObject({ failed: 1, of: 1 })
    expect((await logbook.counts('My bench')).secondTries).toHaveLength(2)
    expect((await logbook.counts(DEMO_BENCH_NAME)).secondTries).toHaveLength(1)
    await logbook.close()
  })

  it('is no reason for a diagnosis to fail where the logbook cannot be read', async () => {
    const broken = new ProblemError({ code: 'logbook.no-sqlite', message: 'There is no logbook here.' })
    const folder = emptyFolder()
    const first = new Logbook(folder)
    await first.use(() => {})
    await first.close()
    const logbook = new Logbook(folder, { loadSqlite: () => Promise.reject(broken) })
    expect(await logbook.counts('x')).toEqual({ counts: {}, secondTries: [], problem: broken.problem })
    await expect(logbook.experience({ ...about, benchName: 'x' })).rejects.toBe(broken)
  })
})
