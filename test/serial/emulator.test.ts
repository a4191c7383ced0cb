import { afterEach, describe, expect, it } from 'vitest'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { bootRomTiming, writeThroughBootRom } from '../../shared/procedure/boot-rom.ts'
import { updateReceiver } from '../../shared/procedure/update.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import { planFor, stagingOf } from '../../shared/rehearse/table.ts'
import { addressMapOf, placeOf } from '../../shared/sim/address-map.ts'
import { writeReceiverState } from '../../shared/sim/receiver-state.ts'
import type { CutPoint } from '../../shared/sim/world.ts'
import { type Emulated, emulated } from '../support/emulated.ts'
import { needs, titled } from '../support/needs.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'

const bench = smallBench()
const wren = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6') as ReceiverType
const made = benchImage(bench, wren, 'wren-6-2.4.0')
if (!made.ok) throw new Error(made.problems[0].message)
const image = made.value
const staging = stagingOf(image, 'IMAGES')
const plan = planFor(bench, wren, 'cable', staging)
/** With less of a pause between attempts than people need, for time is short here. */
const update = (pauseMs = 300) => updateReceiver({ ...plan, timing: { ...plan.timing, pauseMs } })

/** The whole of the Wren's program flash when it holds the image and nothing else. */
const whole = new Uint8Array(wren.flash.programBytes).fill(0xff)
whole.set(image.payload)

describe.skipIf(needs('socat') === undefined)(titled('the emulated receiver at a port', 'socat'), () => {
  const tables: Emulated[] = []
  const table = async (...given: Parameters<typeof emulated>) => {
    const laid = await emulated(...given)
    tables.push(laid)
    return laid
  }
  afterEach(async () => {
    for (const laid of tables.splice(0)) await laid.end()
  })

  it.each([
    ['as fast as the line is', 'line', false],
    ['on a single wire', 'line', true],
    ['without pace', 'unpaced', false],
  ] as const)('is updated: %s', async (_, pace, echo) => {
    const { run, emulation, emulator, events } = await table({ pace, echo })
    const end = await run(update())
    expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done', attempts: 1 } })
    expect(emulation.held()).toMatchObject({
      outcome: 'updated',
      firmware: '2.4.0',
      programSha256: emulation.held().programSha256,
    })
    expect(emulation.memory.program.octets).toEqual(whole)
    expect(events.filter(e => e.kind === 'phase').map(e => e.phase)).toContain('restart')
    const told = await emulator.stop()
    expect(told.why).toBe('stopped')
    expect(told.heardOctets).toBeGreaterThan(image.payload.length)
    expect(told.overrunOctets).toBe(0)
    expect(told.lateness.times).toBeGreaterThan(100)
    expect(told.lateness.worstMs).toBeGreaterThanOrEqual(told.lateness.meanMs)
    expect(told.exchangeMs).toBeGreaterThan(0)
    expect(told.hostMs).toBeGreaterThan(told.exchangeMs)
    expect(told.playedMs).toBeGreaterThanOrEqual(told.hostMs)
  })

  it('gives back on a single wire what was said to it, and nothing else', async () => {
    const { port, emulation } = await table({ echo: true, pace: 'line', faults: [{ name: 'receiver-dead' }] })
    const heard: number[] = []
    const all = new Promise<void>(resolve => {
      port.onOctets(octets => {
        heard.push(...octets)
        if (heard.length >= 5) resolve()
      })
    })
    await port.write(Uint8Array.of(1, 2, 3, 4, 5))
    await all
    expect(heard).toEqual([1, 2, 3, 4, 5])
    expect(emulation.held().outcome).toBe('destroyed')
  })

  // The rehearsal says how it ends; the port must end the same.
  const faults: [string, FaultChoice[], FaultChoice[], CutPoint | undefined][] = [
    ...(
      [
        { name: 'slow-settle' },
        { name: 'line-noise', value: '0.0002' },
        { name: 'signal-wire-open' },
        { name: 'reversed-cable' },
        { name: 'second-supply' },
        { name: 'receiver-dead' },
        { name: 'worn-flash' },
        { name: 'supply-sag', value: '60' },
        { name: 'chatty-sensor', value: '2' },
      ] as FaultChoice[]
    ).map(
      fault => [fault.name, [fault], [fault], undefined] as [string, FaultChoice[], FaultChoice[], undefined],
    ),
    ['silent', [{ name: 'silent' }], [{ name: 'signal-wire-open' }], undefined],
    ['verify-differs', [{ name: 'verify-differs' }], [{ name: 'worn-flash', value: '64' }], undefined],
    ...[1, 7, 100].map(
      n =>
        [
          `cut-at-block=${n}`,
          [{ name: 'cut-at-block', value: String(n) }],
          [],
          { at: 'block', index: n - 1, when: 'during' },
        ] as [string, FaultChoice[], FaultChoice[], CutPoint],
    ),
  ]
  it.concurrent.for(faults)(
    'ends as it was rehearsed: %s',
    { timeout: 60_000 },
    async ([, live, rehearsed, cut], { onTestFinished }) => {
      const simulated = rehearse(smallRequest({ faults: rehearsed }), cut ? { cut } : {})
      if (!simulated.ok) throw new Error(simulated.problems[0].message)
      const { run, emulation, end: clear } = await emulated({ faults: live })
      onTestFinished(clear)
      const end = await run(update(plan.timing.pauseMs))
      expect(emulation.held().outcome).toBe(simulated.value.report.outcome)
      const isDone = end.ended === 'returned' && end.value.ended === 'done'
      expect(isDone).toBe(simulated.value.report.outcome === 'updated')
      if (isDone) expect(emulation.memory.program.octets).toEqual(whole)
    },
  )

  it('fails the first write and takes the second', async () => {
    const { run, emulation, events } = await table({ faults: [{ name: 'first-write-fails' }] })
    const end = await run(update())
    expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done', attempts: 2 } })
    expect(events.filter(e => e.kind === 'attempt-failed')).toHaveLength(1)
    expect(emulation.memory.program.octets).toEqual(whole)
  })

  it('of another type takes nothing, and keeps what it holds', async () => {
    const { run, emulation } = await table({ faults: [{ name: 'other-receiver' }] })
    const before = emulation.held()
    const end = await run(update())
    expect(end).toMatchObject({ ended: 'returned', value: { ended: 'failed', code: 'image-refused' } })
    expect(emulation.type.id).not.toBe(wren.id)
    expect(emulation.held()).toEqual({ ...before, outcome: 'unchanged' })
  })

  it('a stall that is shorter than the patience of the host is got over', async () => {
    const { run, emulation } = await table({ pace: 'line', faults: [{ name: 'stall', value: '0.5+0.3' }] })
    const end = await run(update())
    expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done' } })
    expect(emulation.held().outcome).toBe('updated')
  })

  it('an adapter that is pulled closes the port, and the receiver is left in its boot loader', async () => {
    const { emulator, emulation, port } = await table({
      pace: 'line',
      faults: [{ name: 'unplug', value: '0.05' }],
    })
    await port.write(Uint8Array.of(0x55))
    expect(await emulator.ended).toMatchObject({ why: 'unplugged', heardOctets: 1 })
    expect(emulation.held().outcome).toBe('unchanged')
  })

  it('is heard before the host says anything only where that is asked for', async () => {
    const loud = await table({ pace: 'line', talksFirst: true })
    await new Promise<void>(resolve => loud.port.onOctets(() => resolve()))
    const still = await table({ pace: 'line' })
    const heard: number[] = []
    still.port.onOctets(octets => heard.push(...octets))
    await new Promise(resolve => setTimeout(resolve, 200))
    expect(heard).toEqual([])
    expect(await still.run(update())).toMatchObject({ ended: 'returned', value: { ended: 'done' } })
  })

  it('ends by itself when the host has been quiet long enough', async () => {
    const { emulator, port } = await table({}, { quietEndsMs: 50 })
    await port.write(Uint8Array.of(0x55))
    expect((await emulator.ended).why).toBe('quiet')
  })

  it('a receiver that was cut off is brought back by the next run, from what it kept', async () => {
    const first = await table({ faults: [{ name: 'cut-at-block', value: '20' }] })
    await first.run(update())
    expect(first.emulation.held().outcome).toBe('needs-cable')
    const text = writeReceiverState(wren.id, first.emulation.memory)
    const again = await table({ state: { text, file: 'kept.json' } })
    expect(again.emulation.held()).toMatchObject({ outcome: 'needs-cable', firmware: 'none that starts' })
    expect(await again.run(update())).toMatchObject({ ended: 'returned', value: { ended: 'done' } })
    expect(again.emulation.memory.program.octets).toEqual(whole)
    expect(again.emulation.held().outcome).toBe('updated')
  })

  describe("through the chip's own loader", () => {
    const romPlan = (memory: Emulated['emulation']['memory'], chipId?: number) => {
      const place = placeOf(addressMapOf(wren, memory), memory.program)
      if (place === undefined) throw new Error('the map has no program')
      return {
        baud: 115_200,
        address: place.address,
        octets: image.payload,
        pages: Array.from({ length: place.pages }, (_, i) => place.firstPage + i),
        startAt: place.address,
        chipId,
        writeMultiple: 8,
        timing: bootRomTiming(115_200, wren.flash, 4),
        connectTries: 5,
        tries: 3,
        attempts: 3,
      }
    }
    it.each(['line', 'unpaced'] as const)('is written and started (%s)', async pace => {
      const { run, emulation } = await table({ dialect: 'st-an3155', pace })
      const end = await run(writeThroughBootRom(romPlan(emulation.memory)))
      expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done', started: true } })
      expect(emulation.memory.program.octets).toEqual(whole)
      expect(emulation.held().bootLoaderWhole).toBe(true)
    })

    it('the first write fails and a further attempt works', async () => {
      const { run, emulation } = await table({
        dialect: 'st-an3155',
        faults: [{ name: 'first-write-fails' }],
      })
      const end = await run(writeThroughBootRom(romPlan(emulation.memory)))
      expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done' } })
      // How often it knocks before the chip is back is a matter of how fast this machine is.
      expect(end.ended === 'returned' && end.value.attempts).toBeGreaterThan(1)
      expect(emulation.memory.program.octets).toEqual(whole)
    })

    it.each([
      ['silent', undefined, 'no-answer'],
      ['receiver-dead', undefined, 'no-answer'],
      ['cut-at-block', '3', 'no-answer'],
      ['verify-differs', undefined, 'verify-differs'],
    ] as const)('%s (%s) ends as %s', async (name, value, code) => {
      const fault = value === undefined ? { name } : { name, value }
      const { run, emulation } = await table({ dialect: 'st-an3155', faults: [fault] })
      const end = await run(writeThroughBootRom(romPlan(emulation.memory)))
      expect(end).toMatchObject({ ended: 'returned', value: { ended: 'failed', code } })
    })

    it('another chip is found out before anything is written', async () => {
      const { run, emulation } = await table({ dialect: 'st-an3155', faults: [{ name: 'other-receiver' }] })
      const before = emulation.held().programSha256
      const end = await run(writeThroughBootRom(romPlan(emulation.memory, 0x410)))
      expect(end).toMatchObject({ ended: 'returned', value: { ended: 'failed', code: 'other-chip' } })
      expect(emulation.held().programSha256).toBe(before)
    })

    it('takes another write after it was switched off and on', async () => {
      const { run, emulation, emulator } = await table({ dialect: 'st-an3155' })
      await run(writeThroughBootRom(romPlan(emulation.memory)))
      const deaf = await run(writeThroughBootRom(romPlan(emulation.memory)))
      expect(deaf).toMatchObject({ ended: 'returned', value: { code: 'no-answer' } })
      emulator.powerCycle()
      const end = await run(writeThroughBootRom({ ...romPlan(emulation.memory), connectTries: 40 }))
      expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done' } })
    })
  })
})
