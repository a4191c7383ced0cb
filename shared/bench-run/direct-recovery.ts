import { DialectDevice } from '../dialect/device.ts'
import { DeviceMemory } from '../dialect/device-memory.ts'
import type { Dialect } from '../dialect/schema.ts'
import type { LogEvent } from '../logbook/event.ts'
import type { RunbookStep } from '../rehearse/report.ts'
import { DeviceFarEnd } from './device-far-end.ts'
import { type DirectPlan, directWrite, type ReadyWrite } from './ready.ts'
import { stopAtFurthest } from './recovery.ts'
import { type StateKnown, stateOf } from './state-of.ts'
import { MemoryStore } from './store.ts'
import { VirtualHost } from './virtual-host.ts'

/**
 * How a device on no bench is brought back after a write that broke off. No type is known of it: what it is rehearsed
 * on is a receiver made from the dialect alone, with flash in which the image just has room.
 */
export interface DirectRecovery {
  readonly known: StateKnown
  readonly steps: readonly RunbookStep[]
  readonly rehearsed: {
    /** The write went through from whatever may have been left behind, and the image lies there whole. */
    readonly ok: boolean
    readonly simulatedMs: number
    /** Why not; empty where it did. */
    readonly text: string
  }
}

/** @param log all that the session committed, in order */
export function directRecovery(direct: DirectPlan, log: readonly LogEvent[]): DirectRecovery {
  const known = stateOf(log)
  // Nothing is known of what the device would say of itself, so it is not held against anything here.
  const ready = directWrite({ ...direct, expect: {}, image: { ...direct.image, version: null } })
  let rehearsed: DirectRecovery['rehearsed'] = { ok: true, simulatedMs: 0, text: '' }
  // What was announced last may have been done or not: the recovery has to work either way.
  for (const carriedOut of [false, true]) {
    const memory = roomFor(direct)
    hostAt(direct, memory, stopAtFurthest(ready, log, carriedOut)).run(ready.procedure('backup.bin'))
    const again = writtenAgain(direct, ready, memory)
    if (rehearsed.ok) rehearsed = again
  }
  return { known, steps: stepsFor(direct, known), rehearsed }
}

/** Switched off and on meanwhile: the device begins anew, with the flash as it was left. */
function writtenAgain(
  direct: DirectPlan,
  ready: ReadyWrite,
  memory: DeviceMemory,
): DirectRecovery['rehearsed'] {
  const host = hostAt(direct, memory)
  const end = host.run(ready.procedure('backup.bin'))?.value
  const { octets } = direct.image
  const isWhole = octets.every((octet, i) => memory.octets[i] === octet)
  const simulatedMs = Math.round(host.nowNs / 1e6)
  if (end?.ended === 'done' && isWhole) return { ok: true, simulatedMs, text: '' }
  return { ok: false, simulatedMs, text: end?.text || 'The image did not lie there whole.' }
}

function hostAt(
  { dialect, baud }: DirectPlan,
  memory: DeviceMemory,
  stopBefore?: ReturnType<typeof stopAtFurthest>,
): VirtualHost {
  const files = new MemoryStore()
  const device = new DialectDevice({ dialect, memory })
  return new VirtualHost(new DeviceFarEnd(device, lineOf(dialect, baud)), {
    store: request => files.ask(request),
    ...(stopBefore ? { stopBefore } : {}),
  })
}

const lineOf = ({ line }: Dialect, baud: number | undefined) => ({
  ...{ baud: baud ?? line.baud[0], stopBits: line.stopBits },
  parity: line.parity === 'none' ? ('none' as const) : ('even' as const),
})

/** Erased pages read FF; the last block may be longer than what is left of the image. */
function roomFor({ dialect, image, pages }: DirectPlan): DeviceMemory {
  const least = image.octets.length + dialect.block.octets
  const pageOctets = pages.length > 0 ? Math.ceil(least / pages.length) : Math.max(16, least)
  return new DeviceMemory({
    octets: new Uint8Array(pageOctets * Math.max(1, pages.length)).fill(0xa5),
    ...{ base: image.address, pageOctets, firstPage: pages[0] ?? 0 },
  })
}

const DRIVE = 'Propeller off, drive disconnected: outputs may move when the device restarts.'

function stepsFor({ dialect, image }: DirectPlan, { is }: StateKnown): RunbookStep[] {
  const fromRom = dialect.name === 'st-an3155'
  return [
    {
      text: 'Leave it connected as it was, or connect it again, and look at every wire yourself.',
      expect: 'One supply only, of the right voltage, the right way round.',
      caution: DRIVE,
      minutes: 2,
    },
    {
      text: fromRom
        ? 'Hold the boot pin of its controller, and switch the device off and on.'
        : 'Switch the device off, wait five seconds, and switch it on again.',
      expect: fromRom
        ? "The chip's own loader waits for its first octet."
        : `It waits in its boot loader, or starts. ${is}`,
      minutes: 1,
    },
    {
      text: `Write ${image.name} again, from the start, by ${dialect.title}.`,
      expect: 'All of it is written.',
      minutes: 3,
    },
  ]
}
