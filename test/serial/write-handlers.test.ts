import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished } from 'vitest'
import { createHandlers } from '../../main/handlers/index.ts'
import { simulateHere } from '../../main/work/simulate.ts'
import { contract } from '../../shared/api/contract.ts'
import { serveContract } from '../../shared/api/serve.ts'
import type { LaneReport } from '../../shared/bench-run/lane.ts'
import { demoDialects } from '../../shared/dialect/built-in/all.ts'
import { writeDialect } from '../../shared/dialect/schema.ts'
import { testFolder } from '../support/folder.ts'
import { needs, titled } from '../support/needs.ts'
import { soundAnswers } from '../support/sound-answers.ts'
import { playedReceiver } from '../support/write-desk.ts'
import { writePlan } from '../support/write-plan.ts'

/** The machine's side with a data folder of its own, asked as the window asks. */
function machine() {
  const folder = testFolder('write-handlers')
  onTestFinished(() => folder.remove())
  const lanes: LaneReport[] = []
  const told: string[] = []
  const handlers = createHandlers({
    hostKind: 'browser',
    dataFolder: folder.path,
    simulate: simulateHere(),
    events: {
      emit: (name: string, value: unknown) => {
        told.push(name)
        if (name === 'write.lane') lanes.push(value as LaneReport)
      },
    } as Parameters<typeof createHandlers>[0]['events'],
  })
  const serve = serveContract(contract, handlers, error => {
    throw error
  })
  const ask = async (method: string, request: unknown) => {
    const outcome = await serve(method, request)
    if (!outcome.ok) throw new Error(outcome.problems.map(p => `${p.code}: ${p.message}`).join(' '))
    return outcome.reply as Record<string, never>
  }
  return { ask, lanes, told, folder: folder.path }
}

describe('dialects over the contract', () => {
  it('are listed, kept in the data folder, replaced and removed; built-in ones stay', async () => {
    const { ask, told, folder } = machine()
    const names = async () => (await ask('dialects.list', {})).dialects as { name: string; from: string }[]
    expect((await names()).map(d => d.name)).toEqual(
      expect.arrayContaining(['preflash-bus', 'st-an3155', 'xmodem-crc', 'xmodem-1k', 'ymodem']),
    )
    const [dart] = demoDialects().values()
    const text = writeDialect({ ...dart, name: 'my-loader', title: 'Mine' })
    expect(await ask('dialects.save', { text })).toMatchObject({ name: 'my-loader', replaced: false })
    expect(await ask('dialects.save', { text })).toMatchObject({ replaced: true })
    expect((await ask('dialects.read', { name: 'my-loader' })).text).toBe(text)
    expect((await names()).find(d => d.name === 'my-loader')?.from).toBe('file')
    await expect(ask('dialects.save', { text: writeDialect(dart) })).rejects.toThrow(/dialect.built-in/)
    await expect(ask('dialects.save', { text: '{' })).rejects.toThrow(/dialect.not-json/)
    await ask('dialects.remove', { name: 'my-loader' })
    await expect(ask('dialects.read', { name: 'my-loader' })).rejects.toThrow(/dialect.unknown/)
    expect(told).toContain('dialects.changed')
    mkdirSync(join(folder, 'dialects'), { recursive: true })
    writeFileSync(join(folder, 'dialects', 'bad.dialect.json'), '{"format":"x"}')
    const { broken } = await ask('dialects.list', {})
    expect(broken).toMatchObject([{ fileName: 'bad.dialect.json' }])
  })
})

describe.skipIf(needs('socat') === undefined)(titled('writing over the contract', 'socat'), () => {
  it('checks, rehearses, starts, tells, traces, and has nothing to recover afterwards', async () => {
    const { ask, lanes } = machine()
    const played = await playedReceiver()
    await ask('ports.add', { typed: played.path })
    const plan = writePlan({ port: played.path })
    const first = await ask('write.check', { plan })
    expect(first).toMatchObject({ ready: false, rehearsed: null })
    const { trace } = await ask('write.rehearse', { plan })
    expect(trace).toMatchObject({ lanes: [{ id: 'bus' }] })
    const cautions = soundAnswers(plan)
    expect(await ask('write.check', { plan, cautions })).toMatchObject({ ready: true, key: first.key })
    await expect(ask('write.start', { plan, cautions: { ...cautions, drive: 'propeller' } })).rejects.toThrow(
      /write\.cautions/,
    )
    const { lane } = await ask('write.start', { plan, cautions })
    for (let i = 0; i < 4000 && !lanes.some(l => l.end); i++) await new Promise(r => setTimeout(r, 5))
    expect(lanes.at(-1)?.end).toMatchObject({ outcome: 'updated' })
    expect(await ask('write.lanes', {})).toMatchObject({ lanes: [{ lane }], batch: null })
    const { piece } = (await ask('write.trace', { lane })) as Record<string, { next: object }>
    expect(piece).toMatchObject({ of: lanes.at(-1)?.sessionId, anew: true, lanes: [{ id: 'port' }] })
    expect((await ask('write.trace', { lane, after: piece.next })).piece).toMatchObject({ anew: false })
    expect(await ask('write.trace', { lane: 'lane-99' })).toEqual({ piece: null })
    expect(await ask('write.cancel', { lane })).toEqual({ was: false })
    expect(await ask('write.interrupted', {})).toEqual({ sessions: [] })
    const sessionId = lanes.at(-1)?.sessionId
    expect(await ask('write.recover', { sessionId })).toMatchObject({ plan: { receiverId: 'wren-trainer' } })
    await ask('write.dismiss', { lane })
    expect((await ask('write.lanes', {})).lanes).toEqual([])
  }, 60_000)
})
