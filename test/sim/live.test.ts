import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { situationOf } from '../../shared/fit/situation.ts'
import { findType } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { writeThroughBootRom } from '../../shared/procedure/boot-rom.ts'
import { updateReceiver } from '../../shared/procedure/update.ts'
import { bootLoaderPlan, rewriteThroughBootRom } from '../../shared/rehearse/boot-rom.ts'
import { readyImage } from '../../shared/rehearse/image.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import { judge, memoryOf, planFor, recordCount, stagingOf, tamperWith } from '../../shared/rehearse/table.ts'
import { BOOT_ROM_DICE, BOOT_ROM_LINE, putBootRom } from '../../shared/sim/boot-rom-table.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { applyFaults } from '../../shared/sim/faults.ts'
import { msToNs } from '../../shared/sim/kernel.ts'
import { Live, type Stall } from '../../shared/sim/live.ts'
import { type LiveDeviceOptions, placeOnBus, placeOnWorkbench } from '../../shared/sim/live-devices.ts'
import type { ReceiverMemory } from '../../shared/sim/memory.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { calmWorld, type World } from '../../shared/sim/world.ts'
import { LiveLoop } from '../support/live-loop.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'

const bench = smallBench()
const wren = findType(bench.catalogue, 'receiverTypes', 'aldwick-wren-6') as ReceiverType
const unit = bench.receivers.find(r => r.id === 'wren-trainer')
if (unit === undefined) throw new Error('the small bench has no Wren')

interface Change {
  readonly world?: Partial<World>
  readonly options?: Partial<LiveDeviceOptions>
  readonly stall?: Stall
}

function onBus({ world, options, stall }: Change = {}) {
  const memory = memoryOf(bench, wren, unit as NonNullable<typeof unit>)
  const setup = {
    bench,
    receiverId: 'wren-trainer',
    route: 'cable',
    world: { ...calmWorld, ...world },
  } as const
  const { device, host } = placeOnBus(setup, { seed: 1, memory, echo: false, pace: 'line', ...options })
  return { memory, live: new Live(device, host, stall) }
}

/** The update of the small Wren carried out against a live table, with the faults of a rehearsal. */
function updateLive(seed: number, faults: readonly FaultChoice[]) {
  const image = readyImage(bench, wren, { kind: 'bench', imageId: 'wren-6-2.4.0' }, false)
  const faulted = applyFaults({ bench, receiverId: 'wren-trainer', route: 'cable', world: calmWorld }, faults)
  if (!image.ok || !faulted.ok) throw new Error('the request is not sound')
  const setup = faulted.value
  const memory = memoryOf(bench, wren, unit as NonNullable<typeof unit>)
  const before = recordCount(memory)
  const { device, host } = placeOnBus(setup, {
    seed,
    memory,
    echo: false,
    pace: 'line',
    hostName: 'radio',
  })
  const live = new Live(device, host)
  const situation = situationOf(setup.bench, 'wren-trainer', 'cable', image.value.facts)
  const staging = stagingOf(image.value, situation?.card?.folder ?? 'IMAGES')
  const loop = new LiveLoop(live, new VirtualCard(situation?.card, new TraceRecorder()))
  loop.onStaged = tamperWith(setup.world.cardImage, setup.bench, wren, image.value, staging)
  const result = loop.run(updateReceiver(planFor(setup.bench, wren, 'cable', staging)))
  return { result, memory, outcome: judge(memory, before), trace: device.trace.done(loop.nowNs) }
}

describe('the same procedure on a live table and in a session', () => {
  const cases: [string, readonly FaultChoice[]][] = [
    ['nothing wrong', []],
    ['first write unheard', [{ name: 'slow-settle' }]],
    ['noise', [{ name: 'line-noise', value: '0.0003' }]],
    ['a chatty sensor', [{ name: 'chatty-sensor' }]],
    ['a weak supply', [{ name: 'supply-sag', value: '25' }]],
    ['no signal', [{ name: 'signal-wire-open' }]],
    ['reversed supply', [{ name: 'reversed-cable' }]],
    ['worn flash', [{ name: 'worn-flash' }]],
  ]
  for (const [name, faults] of cases)
    it(`gives the same octets at the same times: ${name}`, () => {
      fc.assert(
        fc.property(fc.integer({ min: 0, max: 0xffff_ffff }), seed => {
          const inSession = rehearse(smallRequest({ seed, faults: [...faults] }))
          if (!inSession.ok) throw new Error(inSession.problems[0].message)
          const live = updateLive(seed, faults)
          const [bus] = live.trace.lanes
          const [wanted] = inSession.value.trace.lanes
          expect(bus).toEqual(wanted)
          expect(live.trace.flash).toEqual(inSession.value.trace.flash)
          expect(live.trace.supply).toEqual(inSession.value.trace.supply)
          expect(live.trace.events).toEqual(inSession.value.trace.events)
          expect(live.memory.program.octets).toEqual(inSession.value.flash)
          expect(live.outcome).toBe(inSession.value.report.outcome)
        }),
        { numRuns: 4, seed: 5 },
      )
    })

  it("and through the chip's own loader", () => {
    const damaged = (): ReceiverMemory => {
      const memory = memoryOf(bench, wren, unit as NonNullable<typeof unit>)
      memory.boot.octets.fill(0, 0, 64)
      return memory
    }
    const there = damaged()
    const rehearsed = rewriteThroughBootRom(there, wren, 9, { bitErrorRate: 0.0002 })
    const memory = damaged()
    const { device, host } = placeOnWorkbench({
      ...{ seed: 9, memory, echo: false, pace: 'line', type: wren, purpose: BOOT_ROM_DICE },
      world: { ...calmWorld, bitErrorRate: 0.0002 },
      line: { ...BOOT_ROM_LINE, baud: 115_200 },
      put: laid => putBootRom(laid, wren, memory),
    })
    const live = new Live(device, host)
    const loop = new LiveLoop(live, new VirtualCard(undefined, new TraceRecorder()))
    const result = loop.run(writeThroughBootRom(bootLoaderPlan(wren, memory)))
    expect(result.retries).toBeGreaterThan(0)
    expect(result).toEqual(rehearsed.result)
    expect(memory.boot.octets).toEqual(there.boot.octets)
    // The radio's hand-over of 15 ms is the loop's as well as the runner's.
    expect(device.trace.done(loop.nowNs).lanes).toEqual(rehearsed.trace.lanes)
  })
})

describe('a live table from outside', () => {
  const QUIET = Uint8Array.of(0x55)
  const octetsOf = (live: Live) => live.taken().flatMap(h => [...h.octets])

  it('is heard polling until the host says something, and then is still', () => {
    const { live } = onBus()
    live.runTo(msToNs(2000))
    const before = live.taken()
    expect(before.length).toBeGreaterThan(50)
    for (const [i, { atNs }] of before.entries()) expect(atNs).toBeGreaterThan(i ? before[i - 1].atNs : 0)
    live.hear(QUIET, msToNs(2000))
    live.runTo(msToNs(2030))
    live.taken()
    live.runTo(msToNs(4000))
    expect(octetsOf(live)).toEqual([])
    expect(live.begunNs).toBe(msToNs(2000))
  })

  it('lays octets that come faster than the line one after another', () => {
    const { live } = onBus({ options: { echo: true } })
    const block = Uint8Array.from({ length: 1029 }, (_, i) => i & 0xff)
    for (let at = 0; at < block.length; at += 100) live.hear(block.subarray(at, at + 100), msToNs(1000))
    const lastNs = msToNs(1000) + live.device.line.durationNs(block.length)
    live.taken()
    live.runTo(lastNs - 1000)
    const early = octetsOf(live)
    expect(early.length).toBeLessThan(block.length)
    live.runTo(lastNs + 1000)
    expect([...early, ...octetsOf(live)].slice(-block.length)).toEqual([...block])
  })

  it('without pace they are through at once', () => {
    const { live } = onBus({ options: { echo: true, pace: 'unpaced' } })
    live.runTo(msToNs(500))
    live.taken()
    live.hear(new Uint8Array(1029).fill(0x31), msToNs(500))
    live.runTo(msToNs(500) + 2000)
    expect(octetsOf(live).length).toBe(1029)
  })

  it('the host hears itself on a single wire, and does not on two', () => {
    const hears = (echo: boolean) => {
      const { live } = onBus({ options: { echo }, world: { receiverDead: true } })
      live.runTo(msToNs(100))
      live.taken()
      live.hear(QUIET, msToNs(100))
      live.runTo(msToNs(200))
      return octetsOf(live)
    }
    expect(hears(true)).toEqual([0x55])
    expect(hears(false)).toEqual([])
  })

  it('a stall holds up both directions, and loses nothing', () => {
    const quiet = onBus({ options: { echo: true } })
    const stalled = onBus({ options: { echo: true }, stall: { afterMs: 50, forMs: 1000 } })
    const heard = [quiet, stalled].map(({ live }) => {
      live.hear(QUIET, msToNs(100))
      live.hear(Uint8Array.of(0x66), msToNs(200))
      live.runTo(msToNs(1000))
      const during = octetsOf(live)
      live.runTo(msToNs(3000))
      return { during: during.includes(0x66), after: octetsOf(live).includes(0x66) }
    })
    expect(heard[0]).toEqual({ during: true, after: false })
    expect(heard[1]).toEqual({ during: false, after: true })
  })

  it('counts what a host pours in without end, and keeps only so much', () => {
    const { live } = onBus()
    const flood = new Uint8Array(64 * 1024)
    for (let i = 0; i < 32; i++) live.hear(flood, msToNs(10))
    expect(live.overrunOctets).toBeGreaterThan(0)
    expect(live.overrunOctets).toBeLessThanOrEqual(32 * flood.length)
  })

  it('the same octets at the same times bring the same octets back, whatever they are', () => {
    const pieces = fc.array(
      fc.record({
        afterMs: fc.integer({ min: 0, max: 400 }),
        octets: fc.uint8Array({ maxLength: 300 }),
      }),
      { maxLength: 12 },
    )
    fc.assert(
      fc.property(pieces, fc.boolean(), (said, echo) => {
        const play = () => {
          const { live } = onBus({ options: { echo }, world: { bitErrorRate: 0.001 } })
          let atNs = 0
          const back: unknown[] = []
          for (const { afterMs, octets } of said) {
            atNs += msToNs(afterMs)
            live.hear(octets, atNs)
            back.push(...live.taken())
          }
          live.runTo(atNs + msToNs(1000))
          return [...back, ...live.taken()]
        }
        expect(play()).toEqual(play())
      }),
      { numRuns: 30 },
    )
  })

  it('a supply that comes back lets the receiver start again', () => {
    const { live, memory } = onBus({ world: { powerCutAtMs: 200, supplyReturnsAfterMs: 300 } })
    const states: string[] = []
    live.device.trace.watch = told => {
      if (told.told === 'device' && told.device === 'receiver') states.push(told.state)
    }
    live.runTo(msToNs(1000))
    live.hear(QUIET, msToNs(1000))
    live.runTo(msToNs(3000))
    expect(states).toContain('without power')
    expect(states.at(-1)).toBe('running its image')
    expect(judge(memory, recordCount(memory))).toBe('unchanged')
  })
})
