import { demoDialects } from '../dialect/built-in/all.ts'
import type { DeviceFault } from '../dialect/device-faults.ts'
import type { Dialect } from '../dialect/schema.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { BAUD as ROM_BAUD } from '../procedure/an3155.ts'
import { addressMapOf } from '../sim/address-map.ts'
import { chipFor } from '../sim/boot-rom-commands.ts'
import { BOOT_ROM_DICE, BOOT_ROM_LINE, putBootRom } from '../sim/boot-rom-table.ts'
import { type LiveDeviceOptions, type Placed, placeOnBus, placeOnWorkbench } from '../sim/live-devices.ts'
import type { Setup, World } from '../sim/world.ts'
import { XmodemLoader } from '../sim/xmodem-loader.ts'
import { DialectLoader } from './live-dialect.ts'
import { LIVE_FAULTS, type LiveFaultPlan } from './live-faults.ts'

/** How each dialect is played: the receiver that speaks it, put on its bus or on a workbench of its own. */

export interface LiveLine {
  readonly baud: number
  readonly parity: 'none' | 'even' | 'odd'
  readonly stopBits: 1 | 2
}

interface Subject {
  readonly setup: Setup
  readonly type: ReceiverType
  readonly faults: LiveFaultPlan
}

/** How a dialect is played. */
export interface LiveDialect {
  readonly name: string
  readonly label: string
  /** The receiver hangs on its telemetry bus, with whatever else is on it. */
  readonly onBus: boolean
  readonly line: (type: ReceiverType) => LiveLine
  /** Its host waits until the receiver says something. */
  readonly talksFirst: boolean
  /** Both talk on one wire, so that the host hears itself. */
  readonly halfDuplex?: boolean
  /** Of the faults that lie in the receiver it can have one. */
  readonly oneFaultInside?: boolean
  readonly place: (subject: Subject, options: LiveDeviceOptions) => Placed
}

const XMODEM_BAUD = 115_200

/** A boot loader that asks for its image by one of the XMODEM protocols; all of them take what any sender sends. */
const xmodemDialect = (name: string, title: string, protocol: 'xmodem' | 'ymodem'): LiveDialect => ({
  name,
  label: `A boot loader that takes its image by ${title}`,
  onBus: false,
  line: () => ({ baud: XMODEM_BAUD, parity: 'none', stopBits: 1 }),
  talksFirst: true,
  place: ({ setup, type }, options) =>
    placeOnWorkbench({
      ...options,
      type,
      world: setup.world,
      line: { baud: XMODEM_BAUD, parity: 'none', label: 'Serial pins of the boot loader' },
      purpose: 'xmodem',
      put: bench =>
        bench.rail.connect(new XmodemLoader({ ...bench, type, memory: options.memory, protocol })),
    }),
})

/** The chips' product identifiers are in ST AN2606: another one than the receivers here are taken to have. */
const OTHER_CHIP_ID = 0x0444

export const LIVE_DIALECTS: readonly LiveDialect[] = [
  {
    name: 'preflash-bus',
    label: 'Preflash bus: the receiver on its telemetry bus, with its sensors',
    onBus: true,
    line: type => ({ baud: type.bus.baud, parity: 'none', stopBits: 1 }),
    talksFirst: false,
    halfDuplex: true,
    place: ({ setup }, options) => placeOnBus(setup, options),
  },
  {
    name: 'st-an3155',
    label: "The loader in the chip's ROM (ST AN3155), with the boot pin held",
    onBus: false,
    line: () => ({ baud: ROM_BAUD.most, parity: 'even', stopBits: 1 }),
    talksFirst: false,
    place: ({ setup, type, faults }, options) => {
      const chip = chipFor(addressMapOf(type, options.memory).pages, type.flash.wordBytes)
      return placeOnWorkbench({
        ...options,
        type,
        world: setup.world,
        line: { ...BOOT_ROM_LINE, baud: ROM_BAUD.most },
        purpose: BOOT_ROM_DICE,
        put: bench =>
          putBootRom(bench, type, options.memory, {
            chip: faults.otherReceiver ? { ...chip, id: OTHER_CHIP_ID } : chip,
          }),
      })
    },
  },
  xmodemDialect('xmodem-crc', 'XMODEM-CRC', 'xmodem'),
  xmodemDialect('xmodem-1k', 'XMODEM-1K', 'xmodem'),
  xmodemDialect('ymodem', 'YMODEM', 'ymodem'),
  ...[...demoDialects().values()].map(mirrored),
]

/** Any dialect that is data, with the receiver made from the same data. */
export function mirrored(dialect: Dialect): LiveDialect {
  const { line } = dialect
  const [baud] = line.baud
  return {
    name: dialect.name,
    label: `A boot loader made from the dialect "${dialect.title}"`,
    onBus: false,
    line: () => ({ baud, parity: line.parity, stopBits: line.stopBits }),
    talksFirst: dialect.write.before.some(step => step.do === 'expect' && step.unaskedEvery !== undefined),
    halfDuplex: line.duplex === 'half-echo',
    oneFaultInside: true,
    place: ({ setup, type, faults }, options) =>
      placeOnWorkbench({
        ...options,
        type,
        world: setup.world,
        // Odd parity takes the same time as even, and octets arrive whole: the port itself is set as it should be.
        line: {
          baud,
          parity: line.parity === 'none' ? 'none' : 'even',
          label: 'Serial pins of the boot loader',
        },
        purpose: 'dialect',
        put: bench =>
          new DialectLoader({
            ...{ bench, dialect, type, memory: options.memory, seed: options.seed },
            fault: insideFaults(setup.world, faults)[0],
          }),
      }),
  }
}

/** The faults that lie in the receiver itself, as a receiver made from data has them: it can have one. */
export function insideFaults(
  { cut, supplyReturnsAfterMs, wornFlashAt }: World,
  faults: LiveFaultPlan,
): DeviceFault[] {
  const found: DeviceFault[] = []
  if (cut?.at === 'block')
    found.push(
      supplyReturnsAfterMs === undefined ? { kind: 'cut', block: cut.index + 1 } : { kind: 'first-attempt' },
    )
  if (wornFlashAt !== undefined) found.push({ kind: 'verify-differs' })
  if (faults.otherReceiver) found.push({ kind: 'other-identity' })
  return found
}

/** @returns the dialect of this name that can be played, or undefined */
export const findLiveDialect = (name: string): LiveDialect | undefined =>
  LIVE_DIALECTS.find(d => d.name === name)

/** The faults that a dialect can be played with. */
export const faultsOf = (dialect: LiveDialect) => LIVE_FAULTS.filter(f => dialect.onBus || !f.busOnly)
