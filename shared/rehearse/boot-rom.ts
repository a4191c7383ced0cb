import type { ReceiverType } from '../model/catalogue.ts'
import { ProblemError } from '../model/problem.ts'
import {
  type BootRomPlan,
  type BootRomResult,
  bootRomTiming,
  writeThroughBootRom,
} from '../procedure/boot-rom.ts'
import { addressMapOf, placeOf } from '../sim/address-map.ts'
import { BootRomDevice } from '../sim/boot-rom.ts'
import { type BootRomChip, chipFor } from '../sim/boot-rom-commands.ts'
import { VirtualCard } from '../sim/card.ts'
import { dice } from '../sim/dice.ts'
import { Flasher } from '../sim/flasher.ts'
import { Kernel } from '../sim/kernel.ts'
import { Line } from '../sim/line.ts'
import { bootLoaderImage, type ReceiverMemory } from '../sim/memory.ts'
import { PortBuffer } from '../sim/port.ts'
import { PowerRail } from '../sim/power.ts'
import { VirtualRunner } from '../sim/runner.ts'
import { type Trace, TraceRecorder } from '../sim/trace.ts'
import type { CutPoint } from '../sim/world.ts'
import type { Feed } from '../wiring/feed.ts'

/** The highest rate that AN3155 states. */
const BAUD = 115_200
/** The boot loader that a receiver is shipped with; a conversion may have brought another. */
const SHIPPED_BOOT_LOADER = 1

/** What may be otherwise on this table than on a calm one. */
export interface BootRomTable {
  readonly chip?: BootRomChip
  readonly bootPinHeld?: boolean
  readonly bitErrorRate?: number
  readonly octetTimeoutMs?: number
  /** Cut the power here: the fault sweep. */
  readonly cut?: CutPoint
}

export interface BootRomRehearsal {
  readonly result: BootRomResult
  readonly simulatedMs: number
  readonly trace: Trace
  readonly effects: number
  readonly flashOperations: number
}

/** The workbench supply, set to the middle of what the label allows, on a short lead. */
const benchSupply = ({ supply }: ReceiverType): Feed => ({
  from: 'the workbench supply',
  openVolts: (supply.leastVolts + supply.mostVolts) / 2,
  seriesOhms: 0.05,
  limitMilliamps: 1000,
  throughCable: false,
  backFeedMilliamps: 0,
  backFeedLimitMilliamps: 0,
})

/** How a receiver's shipped boot loader is written back; everything else in its flash is left alone. */
export function bootLoaderPlan(type: ReceiverType, memory: ReceiverMemory): BootRomPlan {
  const place = placeOf(addressMapOf(type, memory), memory.boot)
  if (place === undefined) throw new Error('the address map has no boot loader')
  return {
    baud: BAUD,
    address: place.address,
    octets: bootLoaderImage(SHIPPED_BOOT_LOADER, memory.boot.octets.length),
    pages: Array.from({ length: place.pages }, (_, i) => place.firstPage + i),
    startAt: place.address,
    chipId: undefined,
    writeMultiple: Math.max(4, type.flash.wordBytes),
    timing: bootRomTiming(BAUD, type.flash, 0),
    connectTries: 10,
    tries: 4,
    attempts: 3,
  }
}

/**
 * Writes the boot loader back through the loader in the chip's ROM, in the simulation, on the memory that a session
 * left. Changes `memory` as the simulated chip does.
 * @returns how it ended and how long it took; the caller looks at the memory for what became of it
 */
export function rewriteThroughBootRom(
  memory: ReceiverMemory,
  type: ReceiverType,
  seed: number,
  table: BootRomTable = {},
): BootRomRehearsal {
  const { kernel, trace, rail, flasher, runner } = layTable(memory, type, seed, table)
  rail.energise(0)
  const result = runner.run(writeThroughBootRom(bootLoaderPlan(type, memory)))
  if (result === undefined) throw new ProblemError({ code: 'sim.no-result', message: 'Nobody ran it.' })
  trace.closePhase(kernel.nowNs, result.ended === 'done' ? 'done' : 'failed')
  return {
    result,
    simulatedMs: kernel.nowNs / 1e6,
    trace: trace.done(kernel.nowNs),
    effects: runner.effects,
    flashOperations: flasher.operations,
  }
}

/** Adapter, line, supply and the chip, with nothing switched on yet. */
function layTable(memory: ReceiverMemory, type: ReceiverType, seed: number, table: BootRomTable) {
  const kernel = new Kernel()
  const trace = new TraceRecorder()
  const line = new Line(kernel, {
    id: 'bus',
    label: "The controller's own serial pins",
    baud: BAUD,
    parity: 'even',
    bitErrorRate: table.bitErrorRate ?? 0,
    dice: dice(seed, 'boot-rom-noise'),
  })
  trace.lanes.push(line.recorder)
  const rail = new PowerRail(kernel, trace, {
    feed: benchSupply(type),
    extraOhms: 0,
    type,
    alwaysMilliamps: 0,
  })
  const cutPower = () => rail.cut('the supply was cut')
  const flasher = new Flasher({
    kernel,
    trace,
    type,
    timing: dice(seed, 'boot-rom-flash'),
    tearing: dice(seed, 'boot-rom-tearing'),
    cut: table.cut,
    onCut: cutPower,
  })
  const runner = adapterRunner(kernel, trace, line, index => {
    if (table.cut?.at === 'effect' && table.cut.index === index) cutPower()
  })
  const map = addressMapOf(type, memory)
  const chip = table.chip ?? chipFor(map.pages, type.flash.wordBytes)
  const { bootPinHeld = true, octetTimeoutMs } = table
  const parts = { kernel, trace, line, rail, flasher, type, memory, map, chip, bootPinHeld, octetTimeoutMs }
  rail.connect(new BootRomDevice(parts))
  return { kernel, trace, rail, flasher, runner }
}

/** Whoever runs the procedure sits behind a USB serial adapter: nobody may refuse the line, and there is no card. */
function adapterRunner(
  kernel: Kernel,
  trace: TraceRecorder,
  line: Line,
  beforeEffect: (index: number) => void,
): VirtualRunner {
  const port = new PortBuffer()
  const nothing = () => {}
  return new VirtualRunner({
    kernel,
    trace,
    line,
    party: line.attach('adapter', 'radio', port),
    port,
    card: new VirtualCard(undefined, trace),
    mayOpen: () => undefined,
    beforeEffect,
    onOpen: nothing,
    onStaged: nothing,
  })
}
