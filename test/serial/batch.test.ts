import { describe, expect, it, onTestFinished } from 'vitest'
import { Batch, type BatchReport } from '../../main/serial/batch.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import { needs, titled } from '../support/needs.ts'
import { ptyPair } from '../support/pty.ts'
import { soundAnswers } from '../support/sound-answers.ts'
import { playedReceiver, type TestDesk, testDesk } from '../support/write-desk.ts'
import { writePlan } from '../support/write-plan.ts'

async function batchAt(table: TestDesk, paths: string[]) {
  const ports = table.env.ports as unknown as { add(path: string): Promise<unknown> }
  for (const path of paths) await ports.add(path)
  const plan = writePlan({ port: paths[0] })
  await table.desk.rehearse(plan, 1)
  const reports: BatchReport[] = []
  const batch = new Batch(table.desk, await table.desk.planned(plan), paths, soundAnswers(plan), {
    ...table.env,
    lookMs: 20,
    onChange: report => reports.push(report),
  })
  onTestFinished(async () => {
    batch.stop()
    await batch.ended
  })
  const until = async (holds: (report: BatchReport) => boolean) => {
    for (let i = 0; i < 4000 && !holds(batch.report()); i++) await new Promise(r => setTimeout(r, 5))
    expect(holds(batch.report())).toBe(true)
  }
  return { batch, until, reports }
}

describe.skipIf(needs('socat') === undefined)(titled('a batch', 'socat'), () => {
  it('writes one receiver after the other as they are plugged in, and counts them', async () => {
    const table = testDesk()
    const pair = await ptyPair()
    const plugIn = (faults: FaultChoice[] = []) => playedReceiver({ pair, faults })
    const { batch, until } = await batchAt(table, [pair.a])
    await until(r => /Plug a receiver in/.test(r.ports[0].waiting))
    const first = await plugIn()
    await until(r => r.done === 1 && /unplug it/.test(r.ports[0].waiting))
    await first.emulator.stop()
    await until(r => /Plug a receiver in/.test(r.ports[0].waiting))
    const second = await plugIn([{ name: 'cut-at-block', value: '3' }])
    await until(r => r.failed === 1)
    await second.emulator.stop()
    batch.stop()
    await batch.ended
    expect(batch.report()).toMatchObject({ running: false, done: 1, failed: 1 })
    expect(batch.report().tally.map(t => t.outcome)).toEqual(['updated', 'failed'])
    expect(batch.report().tally[0].identity).toMatch(/Firmware 2\.4\.0/)
  }, 60_000)

  it('says what is in the way at a port that cannot be opened, and calls each by its name', async () => {
    const table = testDesk()
    const [here, gone] = [await ptyPair(), await ptyPair()]
    const ports = table.env.ports as unknown as { name(place: string, name: string): Promise<unknown> }
    const { until, reports } = await batchAt(table, [here.a, gone.a])
    await ports.name(here.a, 'Red one')
    await gone.end()
    await until(r => !/Plug a receiver in/.test(r.ports[1].waiting))
    await until(r => r.ports[0].label === 'Red one')
    expect(reports.at(-1)?.ports[0]).toMatchObject({ label: 'Red one', waiting: 'Plug a receiver in.' })
    expect(reports.at(-1)?.ports[1].waiting).toMatch(/port/)
  }, 60_000)

  it('leaves a receiver of another type alone', async () => {
    const table = testDesk()
    const played = await playedReceiver({ faults: [{ name: 'other-receiver' }] })
    const before = [...played.emulation.memory.program.octets]
    const { until } = await batchAt(table, [played.path])
    await until(r => /which the image is not for/.test(r.ports[0].waiting))
    expect([...played.emulation.memory.program.octets]).toEqual(before)
  }, 60_000)
})
