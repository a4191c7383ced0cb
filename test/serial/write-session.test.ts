import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { holdsImage } from '../../shared/bench-run/rehearse-write.ts'
import { memoryOf } from '../../shared/rehearse/table.ts'
import { startable } from '../../shared/sim/memory.ts'
import { needs, titled } from '../support/needs.ts'
import { playedReceiver, startAt, testDesk } from '../support/write-desk.ts'
import { planned, writePlan } from '../support/write-plan.ts'

describe.skipIf(needs('socat') === undefined)(titled('a write over a port', 'socat'), () => {
  it('over the bus ends with a receiver that runs the image, with every event in the logbook', async () => {
    const table = testDesk()
    const played = await playedReceiver()
    const { lane, ended } = await startAt(table, played.path)
    const end = await ended
    expect(end).toMatchObject({ outcome: 'updated', state: 'runs-new', attempts: 1, text: '' })
    expect(startable(played.emulation.memory)?.version).toEqual({ major: 2, minor: 4, patch: 0 })
    expect(end.afterwards.length).toBeGreaterThan(0)
    const report = table.desk.lanes.report(lane)
    expect(report?.steps.map(s => s.step)).toEqual([
      ...[
        'open',
        'check',
        'quiet',
        'enter',
        'identify',
        'begin',
        'erase',
        'write',
        'verify',
        'commit',
        'restart',
      ],
    ])
    expect(table.desk.lanes.trace(lane)?.lanes[0].burstCount).toBeGreaterThan(100)
    const session = await table.logbook.use(j => j.session(report?.sessionId ?? ''))
    expect(session.session).toMatchObject({ ending: 'done', outcome: 'updated', kind: 'write' })
    const kinds = session.events.flatMap(e => (e.event.kind === 'effect' ? [e.event.effect] : []))
    expect(kinds).toEqual([...['line', 'line', 'enter', 'erase', 'write', 'verify', 'commit', 'restart']])
    expect(session.events.at(-1)?.event).toMatchObject({ kind: 'outcome', outcome: 'updated' })
  })

  it('backs up what is there before it erases, and does not claim more than it can show', async () => {
    const plan = writePlan({ dialect: 'st-an3155' })
    const table = testDesk()
    const played = await playedReceiver({ plan })
    const write = planned({ dialect: 'st-an3155' })
    const before = memoryOf(plan.bench, write.type, write.unit)
    const { direct } = { direct: write.ready }
    const { ended } = await table.desk.startWish({
      ready: direct,
      port: { key: played.path, label: 'Left', place: { kind: 'local', path: played.path } },
      ...{ rehearsed: null, planned: null, recovers: undefined, afterwards: [] },
    })
    const end = await ended
    expect(end).toMatchObject({ outcome: 'unproven', state: 'written-not-proven' })
    expect(end.proof).toEqual({ verified: 'read-back', started: true, identified: false })
    expect(holdsImage(played.emulation.memory, write)).toBe(true)
    expect([...readFileSync(end.backupFile ?? '')]).toEqual([...before.program.octets])
  })
})
