import { demoDialects } from '../dialect/built-in/all.ts'
import type { DeviceFault } from '../dialect/device-faults.ts'
import type { Dialect } from '../dialect/schema.ts'
import { sha256Hex } from '../image/digest.ts'
import type { Bench } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { failed, oneOf, type Problem, type Result, succeeded } from '../model/problem.ts'
import { isKnown } from '../model/units.ts'
import { BAUD as ROM_BAUD } from '../procedure/an3155.ts'
import type { Outcome } from '../procedure/effects.ts'
import { addressMapOf } from '../sim/address-map.ts'
import { chipFor } from '../sim/boot-rom-commands.ts'
import { BOOT_ROM_DICE, BOOT_ROM_LINE, putBootRom } from '../sim/boot-rom-table.ts'
import { applyFaults } from '../sim/faults.ts'
import { Live, type PaceMode } from '../sim/live.ts'
import { type LiveDeviceOptions, type Placed, placeOnBus, placeOnWorkbench } from '../sim/live-devices.ts'
import { bootLoaderWhole, type ReceiverMemory } from '../sim/memory.ts'
import { readReceiverState } from '../sim/receiver-state.ts'
import { calmWorld, type Setup, type World } from '../sim/world.ts'
import { XmodemLoader } from '../sim/xmodem-loader.ts'
import { DialectLoader } from './live-dialect.ts'
import { LIVE_FAULTS, type LiveFaultPlan, planLiveFaults } from './live-faults.ts'
import { subjectOf } from './rehearse.ts'
import type { FaultChoice } from './report.ts'
import { firmwareOf, judge, memoryOf, recordCount } from './table.ts'

/** A receiver of the bench put on a live table, by the dialect that it is to speak. */

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
function mirrored(dialect: Dialect): LiveDialect {
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
function insideFaults(
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

const oneFaultOnly = (dialect: LiveDialect): Problem => ({
  code: 'fault.value',
  field: 'fault',
  message: `A receiver that speaks "${dialect.name}" can have only one fault of its own at a time.`,
  remedy: 'Leave the others out; faults of the line and of the supply can be added.',
})

/** @returns the dialect of this name that can be played, or undefined */
export const findLiveDialect = (name: string): LiveDialect | undefined =>
  LIVE_DIALECTS.find(d => d.name === name)

export interface EmulationRequest {
  readonly bench: Bench
  readonly receiverId: string
  /** A name, or a dialect file that has been read. */
  readonly dialect: string | Dialect
  readonly seed: number
  readonly faults: readonly FaultChoice[]
  /** The host hears itself; as on the wire of the dialect where left out. */
  readonly echo?: boolean | undefined
  readonly pace: PaceMode
  /**
   * The bus is polled and can be heard before the host says anything. Not for pseudo-terminals: nobody may be
   * listening there yet, and what is said piles up, where a real line forgets it. Default: as the dialect needs it.
   */
  readonly talksFirst?: boolean
  /** What it held when it was last played; the firmware that the bench names where left out. */
  readonly state?: { readonly text: string; readonly file: string }
}

/** What a receiver holds when it has been played. */
export interface Held {
  readonly outcome: Outcome
  /** The version that its boot loader would start. */
  readonly firmware: string
  readonly programBytes: number
  readonly programSha256: string
  readonly bootLoaderWhole: boolean
  readonly flashOperations: number
}

export interface Emulation {
  readonly live: Live
  readonly dialect: LiveDialect
  readonly line: LiveLine
  readonly unit: ReceiverUnit
  readonly type: ReceiverType
  readonly memory: ReceiverMemory
  /** Octets go out before the host has said anything. */
  readonly talksFirst: boolean
  /** The host hears what it says. */
  readonly echo: boolean
  /** When the port is to be closed, from the first octet of the host on. */
  readonly unplugAfterMs: number | undefined
  /** What it holds now, judged against what it held at the start. */
  readonly held: () => Held
}

/**
 * Puts a receiver on a live table and switches it on.
 * @returns problems `bench.no-receiver`, `dialect.unknown`, `fault.…`, `state.…`
 */
export function layEmulation(request: EmulationRequest): Result<Emulation> {
  const { dialect: asked } = request
  const dialect = typeof asked === 'string' ? findLiveDialect(asked) : mirrored(asked)
  if (dialect === undefined) return failed(noSuchDialect(String(asked)))
  const faults = planLiveFaults(request.faults, dialect.onBus)
  if (!faults.ok) return faults
  const subject = whoIsThere(request, faults.value)
  if (!subject.ok) return subject
  const { unit, type } = subject.value
  const setup = setupOf(request, unit.id, faults.value)
  if (!setup.ok) return setup
  if (dialect.oneFaultInside && insideFaults(setup.value.world, faults.value).length > 1)
    return failed(oneFaultOnly(dialect))
  const memory = memoryFrom(request, type, unit)
  if (!memory.ok) return memory
  if (setup.value.world.receiverDead) memory.value.dead ??= 'it was dead before'
  const echo = request.echo ?? dialect.halfDuplex ?? false
  const { device, host } = dialect.place(
    { setup: setup.value, type, faults: faults.value },
    {
      seed: request.seed,
      memory: memory.value,
      echo,
      pace: request.pace,
      polled: request.talksFirst ?? dialect.talksFirst,
    },
  )
  if (faults.value.silent) device.line.open()
  const countBefore = recordCount(memory.value)
  return succeeded({
    live: new Live(device, host, faults.value.stall),
    dialect,
    line: dialect.line(type),
    unit,
    type,
    memory: memory.value,
    talksFirst: request.talksFirst ?? dialect.talksFirst,
    echo,
    unplugAfterMs: faults.value.unplugAfterMs,
    held: () => heldBy(memory.value, countBefore, device.flasher?.operations ?? 0),
  })
}

/** The faults that a dialect can be played with. */
export const faultsOf = (dialect: LiveDialect) => LIVE_FAULTS.filter(f => dialect.onBus || !f.busOnly)

const noSuchDialect = (name: string) => ({
  code: 'dialect.unknown',
  field: 'dialect',
  message: `There is no dialect called "${name}" that can be played.`,
  expected: oneOf(
    LIVE_DIALECTS.map(d => d.name),
    'a dialect',
  ),
})

/** The receiver that was asked for, or by the fault that says so one of another type. */
function whoIsThere({ bench, receiverId }: EmulationRequest, faults: LiveFaultPlan) {
  const asked = subjectOf(bench, receiverId)
  if (!asked.ok || !faults.otherReceiver) return asked
  const { typeId } = asked.value.unit
  const other = bench.receivers.find(
    r => r.typeId !== typeId && isKnown(r.typeId) && subjectOf(bench, r.id).ok,
  )
  if (other) return subjectOf(bench, other.id)
  return failed({
    code: 'fault.value',
    field: 'fault other-receiver',
    message: 'There is no receiver of another type on this bench.',
    expected: 'a bench with receivers of two types',
  })
}

function setupOf(
  { bench }: EmulationRequest,
  receiverId: string,
  { rehearsed, world }: LiveFaultPlan,
): Result<Setup> {
  const calm: Setup = { bench, receiverId, route: 'cable', world: calmWorld }
  const faulted = applyFaults(calm, [...rehearsed])
  if (!faulted.ok) return faulted
  return succeeded({ ...faulted.value, world: { ...faulted.value.world, ...world } })
}

const memoryFrom = (
  { bench, state }: EmulationRequest,
  type: ReceiverType,
  unit: ReceiverUnit,
): Result<ReceiverMemory> =>
  state === undefined
    ? succeeded(memoryOf(bench, type, unit))
    : readReceiverState(state.text, state.file, type)

function heldBy(memory: ReceiverMemory, countBefore: number, flashOperations: number): Held {
  const { octets } = memory.program
  return {
    outcome: judge(memory, countBefore),
    firmware: firmwareOf(memory),
    programBytes: octets.length,
    programSha256: sha256Hex(octets),
    bootLoaderWhole: bootLoaderWhole(memory),
    flashOperations,
  }
}
