import type { ReceiverType } from '../model/catalogue.ts'
import { HostEnd } from './host-end.ts'
import { type Actor, msToNs } from './kernel.ts'
import { hostParty, type LiveDevice, lineBitsPerSecond, type PaceMode } from './live.ts'
import type { ReceiverMemory } from './memory.ts'
import { Table } from './table.ts'
import { layWorkbench, type Workbench, type WorkbenchOptions, type WorkbenchWorld } from './workbench.ts'
import type { Setup, World } from './world.ts'

/** What can sit on a live line: a receiver on its telemetry bus, and a receiver's controller alone. */

export interface LiveDeviceOptions {
  readonly seed: number
  readonly memory: ReceiverMemory
  /** The host hears what it says: a single wire. */
  readonly echo: boolean
  readonly pace: PaceMode
  /** The bus is polled until the host says its first octet, as in a model that is switched on. Default true. */
  readonly polled?: boolean
  /** Name of the near end in the trace. */
  readonly hostName?: string
}

export interface Placed {
  readonly device: LiveDevice
  readonly host: HostEnd
}

const hostOf = (options: LiveDeviceOptions) => {
  const end = new HostEnd()
  const name = options.hostName ?? 'adapter'
  return { end, host: { name, listener: end, ...hostParty(options.echo) } }
}

/**
 * The receiver on its telemetry bus, with the sensors that the bench has on it.
 * @throws ProblemError when the receiver or its type is not on the bench
 */
export function placeOnBus(setup: Setup, options: LiveDeviceOptions): Placed {
  const { end, host } = hostOf(options)
  const { seed, memory } = options
  const table = new Table({
    setup: { ...setup, route: 'cable' },
    seed,
    memory,
    image: undefined,
    host,
    ...lineBitsPerSecond(options.pace),
  })
  table.layCable()
  if (options.polled === false) table.poller = undefined
  const { kernel, trace, line, party, flasher } = table
  const device: LiveDevice = {
    kernel,
    trace,
    line,
    party,
    flasher,
    switchOn: () => table.switchOn(),
    switchOff: () => table.rail.cut('the supply was switched off'),
    begin: () => {
      table.handOver()
      table.schedule()
    },
  }
  return { device, host: end }
}

/** What of the world can happen to a receiver that lies on the workbench. */
export type LiveWorkbenchWorld = WorkbenchWorld &
  Pick<World, 'cableLooseAtMs' | 'powerCutAtMs' | 'supplyReturnsAfterMs'>

export interface WorkbenchDevice extends LiveDeviceOptions {
  readonly type: ReceiverType
  readonly world: LiveWorkbenchWorld
  readonly line: WorkbenchOptions['line']
  readonly purpose: string
  /** Puts the device on the line and on the rail. */
  readonly put: (bench: Workbench) => void
}

const HAPPENS = { powerCut: 1, cableLoose: 2, supplyReturns: 3 } as const

/** A receiver's controller alone on the workbench, in whatever loader `put` puts there. */
export function placeOnWorkbench(options: WorkbenchDevice): Placed {
  const { end, host } = hostOf(options)
  const { type, seed, line, world, purpose } = options
  const cutPower = () => {
    fault('power-cut', 'The supply of the receiver was cut.')
    rail.cut('the supply was cut')
    later(world.supplyReturnsAfterMs, HAPPENS.supplyReturns)
  }
  const pace = lineBitsPerSecond(options.pace)
  const laid = layWorkbench({ type, seed, line, world, purpose, host, onCut: cutPower, ...pace })
  const { kernel, trace, rail } = laid
  options.put(laid)
  const fault = (name: string, text: string) =>
    trace.event(kernel.nowNs, { kind: 'fault', fault: name, text })
  const happening: Actor = {
    wake(code) {
      if (code === HAPPENS.powerCut) cutPower()
      else if (code === HAPPENS.supplyReturns) rail.energise(0)
      else {
        fault('cable-loose', 'The cable came loose.')
        laid.line.open()
      }
    },
  }
  const later = (ms: number | undefined, code: number) => {
    if (ms !== undefined) kernel.after(msToNs(ms), happening, code)
  }
  const device: LiveDevice = {
    ...laid,
    switchOn: () => {
      if (options.memory.dead === undefined) rail.energise(0)
      else trace.device(kernel.nowNs, 'receiver', 'dark: it was destroyed before', false)
    },
    switchOff: () => rail.cut('the supply was switched off'),
    begin: () => {
      later(world.powerCutAtMs, HAPPENS.powerCut)
      later(world.cableLooseAtMs, HAPPENS.cableLoose)
    },
  }
  return { device, host: end }
}
