import { spawn } from 'node:child_process'
import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { builtInChosen } from '../../shared/bench-run/chosen.ts'
import type { WriteEnding } from '../../shared/bench-run/lane.ts'
import { planWrite } from '../../shared/bench-run/ready.ts'
import { holdsImage } from '../../shared/bench-run/rehearse-write.ts'
import { memoryOf } from '../../shared/rehearse/table.ts'
import { startable } from '../../shared/sim/memory.ts'
import { needs, titled } from '../support/needs.ts'
import { ptyPair } from '../support/pty.ts'
import { serialPlan } from '../support/serial-bench.ts'
import { soundAnswers } from '../support/sound-answers.ts'
import { playedReceiver, startAt, testDesk } from '../support/write-desk.ts'
import { planned, writePlan } from '../support/write-plan.ts'

describe.skipIf(needs('socat') === undefined)(titled('a write over a port', 'socat'), () => {
  it('over the bus ends with a receiver that runs the image, with every event in the logbook', async () => {
    const table = testDesk()
    const played = await playedReceiver()
    const { lane, ended } = await startAt(table, played.path)
    const end = await ended
    expect(end).toMatchObject({ outcome: 'updated', state: 'runs-new', text: '' })
    expect(startable(played.emulation.memory)?.version).toEqual({ major: 2, minor: 4, patch: 0 })
    expect(end.afterwards.length).toBeGreaterThan(0)
    const report = table.desk.lanes.report(lane)
    expect(table.desk.lanes.trace(lane)?.lanes[0].burstCount).toBeGreaterThan(100)
    const session = await table.logbook.use(j => j.session(report?.sessionId ?? ''))
    expect(session.session).toMatchObject({ ending: 'done', outcome: 'updated', kind: 'write' })
    const announced = session.events.flatMap(e => (e.event.kind === 'effect' ? [e.event.effect] : []))
    expect(announced.slice(-7)).toEqual([
      ...['enter', 'erase', 'write', 'write', 'verify', 'commit', 'restart'],
    ])
    expect(session.events.at(-1)?.event).toMatchObject({ kind: 'outcome', outcome: 'updated' })
  })

  it.each([
    ['st-an3155', 'unproven', 'read-back'],
    ['xmodem-crc', 'unproven', 'none'],
    ['xmodem-1k', 'unproven', 'none'],
    ['ymodem', 'unproven', 'none'],
    ['tamsin-dart', 'updated', 'digest'],
    ['tamsin-twig', 'unproven', 'none'],
  ] as const)('by %s ends %s, with the image in the flash', async (dialect, outcome, verified) => {
    const plan = serialPlan(dialect)
    const table = testDesk()
    const played = await playedReceiver({ plan })
    const { ended } = await startAt(table, played.path, plan)
    const end = await ended
    const chosen = builtInChosen(dialect)
    const write = chosen && planWrite(plan, chosen)
    if (!write?.ok) throw new Error('no such write')
    expect([end.outcome, end.text, end.proof.verified]).toEqual([outcome, '', verified])
    expect(holdsImage(played.emulation.memory, write.value)).toBe(true)
    if (end.backupFile !== null) {
      const before = memoryOf(plan.bench, write.value.type, write.value.unit)
      expect([...readFileSync(end.backupFile)]).toEqual([...before.program.octets])
    }
    expect(end.backupFile === null).toBe(!write.value.ready.canBackUp)
  })

  it('sends nothing where what the receiver holds could not be kept', async () => {
    const plan = serialPlan('st-an3155')
    const table = testDesk()
    writeFileSync(join(table.dataFolder, 'backups'), 'in the way')
    const played = await playedReceiver({ plan })
    const { ended } = await startAt(table, played.path, plan)
    const end = await ended
    expect(end).toMatchObject({ outcome: 'failed', code: 'write.backup-folder', state: 'as-before' })
    expect(end.text).toMatch(/could not be kept in this folder .*nothing was sent/)
    expect(end.stateWords).toBe('This write sent nothing to it.')
    await played.emulator.stop()
    expect((await played.emulator.ended).heardOctets).toBe(0)
  })

  it('whose first attempt fails makes a second one', async () => {
    const table = testDesk()
    const played = await playedReceiver({ faults: [{ name: 'first-write-fails' }] })
    const { lane, ended } = await startAt(table, played.path)
    const end = await ended
    expect(end).toMatchObject({ outcome: 'updated', attempts: 2 })
    const steps = table.desk.lanes.report(lane)?.steps.map(s => s.step) ?? []
    expect(steps.filter(s => s === 'write')).toHaveLength(2)
    expect(steps).toContain('pause')
    expect(table.desk.lanes.report(lane)?.differs.map(d => d.kind)).toContain('another-order')
  })

  it('that fails both times stops with what the Diagnose view begins with', async () => {
    const table = testDesk()
    const played = await playedReceiver({ faults: [{ name: 'silent' }] })
    const { ended } = await startAt(table, played.path)
    const end = await ended
    expect(end).toMatchObject({ outcome: 'failed', state: 'as-before', code: 'no-answer' })
    expect(end.diagnosis).toEqual({
      symptom: 'no-answer',
      answers: { 'image-passes': 'yes', 'second-try': 'no', 'echo-back': 'yes' },
    })
  })

  it('that lost its port says so, with the state that the receiver is really in', async () => {
    const table = testDesk()
    const played = await playedReceiver({ pace: 'line' })
    const { lane, ended } = await startAt(table, played.path)
    await until(() => table.desk.lanes.report(lane)?.step === 'write')
    await played.pair.hangUp()
    const end = await ended
    expect(end.outcome).toBe('port-lost')
    expect(['partly-written', 'in-boot-loader', 'not-known']).toContain(end.state)
    expect(startable(played.emulation.memory)).toBeUndefined()
  })

  it('that was cancelled says what the receiver holds, and what it holds is that', async () => {
    for (const effects of [5, 40, 90, 140]) {
      const table = testDesk()
      const played = await playedReceiver()
      const { lane, ended } = await startAt(table, played.path)
      await until(() => (table.desk.lanes.trace(lane)?.lanes[0]?.burstCount ?? 0) > effects)
      table.desk.lanes.cancel(lane)
      const end = await ended
      if (end.outcome === 'cancelled') expectTrue(end, played.emulation.memory)
      else expect(end.outcome).toBe('updated')
    }
  })

  it('writes on several ports at once, and one that hangs holds up none of the others', async () => {
    const table = testDesk()
    const hung = await playedReceiver({ faults: [{ name: 'stall', value: '0+60' }] })
    const others = await Promise.all([playedReceiver(), playedReceiver(), playedReceiver()])
    const slow = await startAt(table, hung.path)
    const started = []
    for (const other of others) started.push(await startAt(table, other.path))
    const ends = await Promise.all(started.map(s => s.ended))
    expect(ends.map(e => e.outcome)).toEqual(['updated', 'updated', 'updated'])
    expect(table.desk.lanes.report(slow.lane)?.end).toBeNull()
    table.desk.lanes.cancel(slow.lane)
    expect((await slow.ended).outcome).toBe('cancelled')
    await expect(startAt(table, hung.path)).resolves.toBeDefined()
  })

  it('goes on while another port babbles without end, which is cancelled as any other', async () => {
    const table = testDesk()
    const babbling = await ptyPair()
    const babbler = spawn('dd', ['if=/dev/zero', `of=${babbling.b}`, 'bs=4096'], { stdio: 'ignore' })
    onTestFinished(async () => {
      babbler.kill('SIGKILL')
      await babbling.end()
    })
    const other = await playedReceiver()
    const loud = await startAt(table, babbling.a)
    const { ended } = await startAt(table, other.path)
    expect((await ended).outcome).toBe('updated')
    table.desk.lanes.cancel(loud.lane)
    expect(['cancelled', 'failed']).toContain((await loud.ended).outcome)
    expect((await loud.ended).state).toBe('as-before')
  })

  it('does not begin twice on one port', async () => {
    const table = testDesk()
    const played = await playedReceiver({ pace: 'line' })
    await startAt(table, played.path)
    await expect(startAt(table, played.path)).rejects.toMatchObject({
      problems: [{ code: 'write.port', field: 'port' }],
    })
  })
})

describe('a write is not begun', () => {
  const refused = async (change: Parameters<typeof writePlan>[0], answers = {}) => {
    const table = testDesk()
    const plan = writePlan({ port: '/nowhere/ttyUSB0', ...change })
    const sound = { ...soundAnswers(plan), ...answers }
    const begun = await table.desk.start(plan, sound).catch((error: unknown) => error)
    const logged = await table.logbook.look(j => j.sessions().sessions.length, 0)
    expect(logged).toBe(0)
    return (begun as { problems?: { code: string }[] }).problems?.map(p => p.code)
  }

  it('without a port', async () => expect(await refused({})).toContain('write.port'))
  it('without a rehearsal', async () => expect(await refused({})).toContain('write.rehearsed'))
  it('by a dialect that is not there', async () =>
    expect(await refused({ dialect: 'nobody' })).toContain('write.dialect'))
  it('with an image that is not there', async () =>
    expect(await refused({ image: { kind: 'bench', imageId: 'none' } })).toContain('write.image'))
  it('with the propeller on', async () =>
    expect(await refused({}, { drive: 'propeller' })).toContain('write.cautions'))
  it('with a supply that is reversed, whatever is said', async () => {
    const said = { wiring: 'yes', supply: 'adapter', override: 'yes', force: 'yes' }
    const codes = await refused({ cableId: 'programmer-cable-swapped' }, said)
    expect(codes?.some(code => code === 'write.supply' || code === 'write.wiring')).toBe(true)
  })
})

async function until(holds: () => boolean): Promise<void> {
  for (let i = 0; i < 4000 && !holds(); i++) await new Promise(resolve => setTimeout(resolve, 2))
}

/** What is said of the receiver is so. */
function expectTrue({ state }: WriteEnding, memory: Parameters<typeof startable>[0]): void {
  const write = planned()
  const before = memoryOf(write.plan.bench, write.type, write.unit)
  if (state === 'as-before') expect([...memory.program.octets]).toEqual([...before.program.octets])
  if (state === 'in-boot-loader' || state === 'partly-written') expect(startable(memory)).toBeUndefined()
  if (state === 'written-not-proven') expect(holdsImage(memory, write)).toBe(true)
  expect(state).not.toBe('runs-new')
}
