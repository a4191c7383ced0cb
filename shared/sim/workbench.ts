import type { ReceiverType } from '../model/catalogue.ts'
import type { Parity } from '../wire/uart.ts'
import type { Feed } from '../wiring/feed.ts'
import { dice } from './dice.ts'
import { Flasher } from './flasher.ts'
import { Kernel } from './kernel.ts'
import { Line, type Listener, type PartyOptions } from './line.ts'
import { PowerRail } from './power.ts'
import { TraceRecorder } from './trace.ts'
import type { World } from './world.ts'

/** A receiver's controller alone on the workbench, with a supply and a serial adapter at its own pins. */

/** What of the world can happen there. */
export type WorkbenchWorld = Pick<World, 'bitErrorRate' | 'extraSupplyOhms' | 'wornFlashAt' | 'cut'>

export interface WorkbenchOptions {
  readonly type: ReceiverType
  readonly seed: number
  readonly line: { readonly baud: number; readonly parity: Parity; readonly label: string }
  readonly world: Partial<WorkbenchWorld>
  /** Names the streams of dice, so that another kind of device has its own. */
  readonly purpose: string
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

/** Adapter, line and supply, with nothing on them yet and nothing switched on. */
export function layWorkbench(options: WorkbenchOptions) {
  const { type, seed, world, host, purpose } = options
  const kernel = new Kernel()
  const trace = new TraceRecorder()
  const line = new Line(kernel, {
    ...options.line,
    id: 'bus',
    bitErrorRate: world.bitErrorRate ?? 0,
    dice: dice(seed, `${purpose}-noise`),
    bitsPerSecond: options.lineBitsPerSecond,
  })
  trace.lanes.push(line.recorder)
  const rail = new PowerRail(kernel, trace, {
    feed: workbenchSupply(type),
    extraOhms: world.extraSupplyOhms ?? 0,
    type,
    alwaysMilliamps: 0,
  })
  const flasher = new Flasher({
    kernel,
    trace,
    type,
    timing: dice(seed, `${purpose}-flash`),
    tearing: dice(seed, `${purpose}-tearing`),
    cut: world.cut,
    onCut: () => options.onCut(rail),
    ...(world.wornFlashAt === undefined ? {} : { wornAt: world.wornFlashAt }),
  })
  const party = line.attach(host.name, 'radio', host.listener, host)
  return { kernel, trace, line, party, rail, flasher }
}

export type Workbench = ReturnType<typeof layWorkbench>
