import type { ReceiverType } from '../model/catalogue.ts'
import type { Feed } from '../wiring/feed.ts'
import { addressMapOf } from './address-map.ts'
import { BootRomDevice } from './boot-rom.ts'
import { type BootRomChip, chipFor } from './boot-rom-commands.ts'
import { dice } from './dice.ts'
import { Flasher } from './flasher.ts'
import { Kernel } from './kernel.ts'
import { Line, type Listener, type PartyOptions } from './line.ts'
import type { ReceiverMemory } from './memory.ts'
import { PowerRail } from './power.ts'
import { TraceRecorder } from './trace.ts'
import type { CutPoint } from './world.ts'

/** What may be otherwise on this table than on a calm one. */
export interface BootRomTable {
  readonly chip?: BootRomChip
  readonly bootPinHeld?: boolean
  readonly bitErrorRate?: number
  readonly octetTimeoutMs?: number
  readonly extraSupplyOhms?: number
  readonly wornFlashAt?: number
  /** Cut the power here: the fault sweep. */
  readonly cut?: CutPoint
}

export interface BootRomTableOptions {
  readonly memory: ReceiverMemory
  readonly type: ReceiverType
  readonly seed: number
  readonly baud: number
  readonly table: BootRomTable
  readonly host: { readonly name: string; readonly listener: Listener } & PartyOptions
  readonly onCut: (rail: PowerRail) => void
  /** What characters really take on the line; as long as its rate says where left out. */
  readonly lineBitsPerSecond?: number
}

/** The workbench supply, set to the middle of what the label allows, on a short lead. */
export const workbenchSupply = ({ supply }: ReceiverType): Feed => ({
  from: 'the workbench supply',
  openVolts: (supply.leastVolts + supply.mostVolts) / 2,
  seriesOhms: 0.05,
  limitMilliamps: 1000,
  throughCable: false,
  backFeedMilliamps: 0,
  backFeedLimitMilliamps: 0,
})

/** Adapter, line, supply and a receiver's chip with its boot pin held, with nothing switched on yet. */
export function layBootRomTable(options: BootRomTableOptions) {
  const { memory, type, seed, table, host } = options
  const kernel = new Kernel()
  const trace = new TraceRecorder()
  const line = new Line(kernel, {
    id: 'bus',
    label: "The controller's own serial pins",
    baud: options.baud,
    parity: 'even',
    bitErrorRate: table.bitErrorRate ?? 0,
    dice: dice(seed, 'boot-rom-noise'),
    bitsPerSecond: options.lineBitsPerSecond,
  })
  trace.lanes.push(line.recorder)
  const rail = new PowerRail(kernel, trace, {
    feed: workbenchSupply(type),
    extraOhms: table.extraSupplyOhms ?? 0,
    type,
    alwaysMilliamps: 0,
  })
  const flasher = new Flasher({
    kernel,
    trace,
    type,
    timing: dice(seed, 'boot-rom-flash'),
    tearing: dice(seed, 'boot-rom-tearing'),
    cut: table.cut,
    onCut: () => options.onCut(rail),
    wornAt: table.wornFlashAt,
  })
  const party = line.attach(host.name, 'radio', host.listener, host)
  const map = addressMapOf(type, memory)
  const chip = table.chip ?? chipFor(map.pages, type.flash.wordBytes)
  const { bootPinHeld = true, octetTimeoutMs } = table
  const parts = { kernel, trace, line, rail, flasher, type, memory, map, chip, bootPinHeld, octetTimeoutMs }
  const device = new BootRomDevice(parts)
  rail.connect(device)
  return { kernel, trace, line, party, rail, flasher, device }
}
