import { describe, expect, it } from 'vitest'
import { replaySession } from '../../shared/bench-run/replay.ts'
import { readSessionFile } from '../../shared/logbook/session-file.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import { needs, titled } from '../support/needs.ts'
import { serialPlan } from '../support/serial-bench.ts'
import { playedReceiver, startAt, testDesk } from '../support/write-desk.ts'
import { writePlan } from '../support/write-plan.ts'

async function exported(dialect: string, faults: FaultChoice[] = [], cancelled = false) {
  const plan = dialect === 'preflash-bus' ? writePlan() : serialPlan(dialect)
  const table = testDesk()
  const played = await playedReceiver({ plan, faults })
  const { lane, ended } = await startAt(table, played.path, plan)
  if (cancelled) {
    const octets = () => table.desk.lanes.trace(lane)?.lanes[0]?.burstCount ?? 0
    while (octets() < 40) await new Promise(resolve => setTimeout(resolve, 1))
    table.desk.lanes.cancel(lane)
  }
  await ended
  const id = table.desk.lanes.report(lane)?.sessionId ?? ''
  const file = readSessionFile(await table.logbook.use(j => j.exportSession(id)), 'session.json')
  if (!file.ok) throw new Error(file.problems[0].message)
  return file.value
}

describe.skipIf(needs('socat') === undefined)(titled('an exported session', 'socat'), () => {
  it.each<[string, FaultChoice[]]>([
    ['preflash-bus', []],
    ['preflash-bus', [{ name: 'first-write-fails' }]],
    ['st-an3155', [{ name: 'line-noise' }]],
    ['tamsin-dart', []],
  ])('replayed without hardware leads to the same events: %s %j', async (dialect, faults) => {
    const file = await exported(dialect, faults)
    const replay = replaySession(file)
    if (!replay.ok) throw new Error(replay.problems[0].message)
    expect(replay.value).toMatchObject({ same: true, parts: null, brokenOff: false })
    expect(replay.value.agreed).toBeGreaterThan(4)
  })

  it('that was cancelled is replayed as far as it goes', async () => {
    const replay = replaySession(await exported('preflash-bus', [], true))
    expect(replay.ok && replay.value.same).toBe(true)
  })

  it('of an older version, which said otherwise that something was sent again, is the same for all that', async () => {
    const file = await exported('st-an3155', [{ name: 'line-noise' }])
    const retries = file.events.filter(({ event }) => event.kind === 'retry')
    expect(retries.length).toBeGreaterThan(0)
    const events = file.events.map(e =>
      e.event.kind === 'retry' ? { ...e, event: { ...e.event, text: 'in other words' } } : e,
    )
    const replay = replaySession({ session: file.session, events })
    expect(replay.ok && replay.value.same).toBe(true)
    const others = file.events.map(e =>
      e.event.kind === 'retry' ? { ...e, event: { ...e.event, tries: e.event.tries + 1 } } : e,
    )
    const otherwise = replaySession({ session: file.session, events: others })
    expect(otherwise.ok && otherwise.value.same).toBe(false)
  })

  it('whose answers were changed goes another way, and it is said where', async () => {
    const file = await exported('preflash-bus')
    const events = file.events.map(e =>
      e.event.kind === 'answers'
        ? { ...e, event: { ...e.event, answers: e.event.answers.map(() => 't') } }
        : e,
    )
    const replay = replaySession({ session: file.session, events })
    expect(replay.ok && replay.value.same).toBe(false)
    expect(replay.ok && replay.value.parts).not.toBeNull()
  })

  it('without a plan or answers is refused', async () => {
    const file = await exported('preflash-bus')
    const bare = file.events.filter(e => e.event.kind !== 'answers')
    expect(replaySession({ session: file.session, events: bare })).toMatchObject({
      problems: [{ code: 'session.no-answers' }],
    })
    expect(replaySession({ session: { ...file.session, plan: null }, events: file.events })).toMatchObject({
      problems: [{ code: 'write.no-plan' }],
    })
  })
})
