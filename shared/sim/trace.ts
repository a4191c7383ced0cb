import type { CableUnit } from '../model/gear.ts'
import type { SessionEvent } from '../procedure/effects.ts'
import type { Parity } from '../wire/uart.ts'

/**
 * What happened in a session, in columns: one rehearsal of 256 KiB has some hundred thousand octets, and the
 * screen scrolls through them. Times are integer nanoseconds since the session began.
 */

/** `port` is a real port, as a live session hears it. */
export type LaneId = 'bus' | 'module-port' | 'air' | 'port'

/** Burst flags: what became of a burst on its way. */
export const BURST = {
  /** Another talker spoke over it. */
  collided: 1,
  /** Noise changed at least one bit of it. */
  noisy: 2,
  /** Nobody at the other end could hear it (open wire, lost packet, receiver off). */
  lost: 4,
} as const

export interface Lane {
  readonly id: LaneId
  readonly label: string
  readonly baud: number
  /** Bits a character takes on the line: 10 for 8N1, one more with parity or a second stop bit, 8 on the air. */
  readonly bitsPerCharacter: number
  readonly parity: Parity
  readonly talkers: readonly string[]
  readonly burstCount: number
  readonly startNs: Float64Array
  readonly talker: Uint8Array
  readonly firstOctet: Uint32Array
  readonly octetCount: Uint32Array
  readonly flags: Uint8Array
  readonly octets: Uint8Array
  /** What a listener made of bursts that did not arrive as sent, in order of time. */
  readonly heard: readonly HeardOtherwise[]
}

export interface HeardOtherwise {
  readonly atNs: number
  readonly octets: Uint8Array
  /** Characters whose stop bit was missing. */
  readonly framingErrors: number
}

export const FLASH_OP = {
  erase: 0,
  program: 1,
  recordErase: 2,
  recordProgram: 3,
  bootErase: 4,
  bootProgram: 5,
} as const
export type FlashOpKind = (typeof FLASH_OP)[keyof typeof FLASH_OP]

export interface FlashLog {
  readonly count: number
  readonly startNs: Float64Array
  readonly endNs: Float64Array
  readonly kind: Uint8Array
  /** Byte offset from the start of the region that `kind` names, and number of bytes. */
  readonly offset: Uint32Array
  readonly bytes: Uint32Array
  /** 1 when power failed in the middle of it. */
  readonly torn: Uint8Array
}

export interface SupplyLog {
  readonly count: number
  readonly atNs: Float64Array
  readonly volts: Float32Array
  readonly milliamps: Float32Array
}

export type DeviceId = 'radio' | 'card' | 'module' | 'cable' | 'air' | 'receiver' | 'supply' | 'sensor'

/** Which pin of the near end one wire of the update cable joins to which of the far end. */
export type CableWire = CableUnit['wires'][number]
/** A wire of the cable as it lies on the line; `isOff` where it is whole but meets no pin at the near end. */
export type LaidWire = CableWire & { readonly isOff?: true }

/** A device changed its state; `state` is a word for the screen. */
export interface DeviceChange {
  readonly atNs: number
  readonly device: DeviceId
  readonly state: string
  readonly alive: boolean
  /** Of the cable alone: the wires that are whole from now on. */
  readonly wires?: readonly LaidWire[]
}

export interface Phase {
  readonly id: PhaseId
  readonly startNs: number
  readonly endNs: number
  readonly attempt: number
  readonly ended: 'done' | 'failed' | 'broken-off'
}

export const PHASES = [
  'stage',
  'check',
  'quiet',
  'search',
  'enter',
  'identify',
  'backup',
  'begin',
  'erase',
  'write',
  'verify',
  'commit',
  'restart',
] as const
export type PhaseId = (typeof PHASES)[number]

export const phaseWords: Readonly<Record<PhaseId, string>> = {
  stage: 'Put the image on the card',
  check: 'Check the image',
  quiet: 'Quiet the bus',
  search: 'Look for the receiver',
  enter: 'Enter the boot loader',
  identify: 'Ask who it is',
  backup: 'Back up what is there',
  begin: 'Announce the image',
  erase: 'Erase',
  write: 'Write',
  verify: 'Verify',
  commit: 'Make it valid',
  restart: 'Restart and ask again',
}

/** How far one phase has come. */
export interface Standing {
  readonly phase: PhaseId
  /** 1 for the first. */
  readonly attempt: number
  /** In octets or pages, as the phase counts; both 0 where it does not count. */
  readonly done: number
  readonly total: number
}

export interface ProgressLog {
  readonly count: number
  readonly atNs: Float64Array
  readonly done: Float64Array
  readonly total: Float64Array
  /** Index into `Trace.phases`. */
  readonly phase: Uint16Array
}

export interface TimedEvent {
  readonly atNs: number
  readonly event: SessionEvent
}

export interface Trace {
  readonly endNs: number
  readonly lanes: readonly Lane[]
  readonly flash: FlashLog
  readonly supply: SupplyLog
  readonly progress: ProgressLog
  readonly phases: readonly Phase[]
  readonly devices: readonly DeviceChange[]
  readonly events: readonly TimedEvent[]
}

/** A typed array that grows; `push` never allocates but by doubling. */
class Column<A extends Float64Array | Float32Array | Uint32Array | Uint16Array | Uint8Array> {
  private items: A
  length = 0
  private readonly make: (size: number) => A
  constructor(make: (size: number) => A, size = 256) {
    this.make = make
    this.items = make(size)
  }
  push(value: number): void {
    if (this.length === this.items.length) this.grow(this.length + 1)
    this.items[this.length++] = value
  }
  grow(atLeast: number): void {
    const next = this.make(Math.max(atLeast, this.items.length * 2))
    next.set(this.items)
    this.items = next
  }
  get raw(): A {
    return this.items
  }
  set(index: number, value: number): void {
    this.items[index] = value
  }
  at(index: number): number {
    return this.items[index]
  }
  /** A copy of those from one place to before another. */
  part(from: number, to: number): A {
    return this.items.slice(from, Math.min(to, this.length)) as A
  }
  done(): A {
    return this.part(0, this.length)
  }
}

const f64 = (n: number) => new Float64Array(n)
const f32 = (n: number) => new Float32Array(n)
const u32 = (n: number) => new Uint32Array(n)
const u16 = (n: number) => new Uint16Array(n)
const u8 = (n: number) => new Uint8Array(n)

/** Records one line. Octets are appended in place, so that listeners read them where they lie. */
export class LaneRecorder {
  readonly startNs = new Column(f64)
  readonly talker = new Column(u8)
  readonly firstOctet = new Column(u32)
  readonly octetCount = new Column(u32)
  readonly flags = new Column(u8)
  readonly heard: HeardOtherwise[] = []
  readonly talkers: string[] = []
  octets: Uint8Array = new Uint8Array(4096)
  octetLength = 0
  readonly id: LaneId
  readonly label: string
  readonly baud: number
  readonly bitsPerCharacter: number
  readonly parity: Parity
  constructor(id: LaneId, label: string, baud: number, bitsPerCharacter: number, parity: Parity) {
    this.id = id
    this.label = label
    this.baud = baud
    this.bitsPerCharacter = bitsPerCharacter
    this.parity = parity
  }

  /** Makes room for `count` more octets and returns where they go. */
  reserve(count: number): number {
    const at = this.octetLength
    if (at + count > this.octets.length) {
      const next = new Uint8Array(Math.max(at + count, this.octets.length * 2))
      next.set(this.octets)
      this.octets = next
    }
    return at
  }

  /** Adds a burst whose octets have been written from `first` on. */
  burst(startNs: number, talker: number, first: number, count: number): number {
    this.octetLength = first + count
    this.startNs.push(startNs)
    this.talker.push(talker)
    this.firstOctet.push(first)
    this.octetCount.push(count)
    this.flags.push(0)
    return this.startNs.length - 1
  }

  /** Forgets all bursts but keeps the talkers: for endless runs that nobody looks at. */
  forget(): void {
    for (const column of [this.startNs, this.talker, this.firstOctet, this.octetCount, this.flags])
      column.length = 0
    this.heard.length = 0
    this.octetLength = 0
  }

  done(): Lane {
    return {
      id: this.id,
      label: this.label,
      baud: this.baud,
      bitsPerCharacter: this.bitsPerCharacter,
      parity: this.parity,
      talkers: [...this.talkers],
      burstCount: this.startNs.length,
      startNs: this.startNs.done(),
      talker: this.talker.done(),
      firstOctet: this.firstOctet.done(),
      octetCount: this.octetCount.done(),
      flags: this.flags.done(),
      octets: this.octets.slice(0, this.octetLength),
      heard: [...this.heard],
    }
  }
}

/** What is told while it happens to whoever watches. */
export type Told =
  | ({ readonly told: 'device' } & DeviceChange)
  | ({ readonly told: 'event' } & TimedEvent)
  | {
      readonly told: 'flash'
      readonly atNs: number
      readonly kind: FlashOpKind
      readonly offset: number
      readonly bytes: number
      readonly torn: boolean
    }

/** Gathers a whole session. */
export class TraceRecorder {
  watch: ((told: Told) => void) | undefined
  readonly lanes: LaneRecorder[] = []
  private readonly flashStart = new Column(f64)
  private readonly flashEnd = new Column(f64)
  private readonly flashKind = new Column(u8)
  private readonly flashOffset = new Column(u32)
  private readonly flashBytes = new Column(u32)
  private readonly flashTorn = new Column(u8)
  private readonly supplyAt = new Column(f64)
  private readonly supplyVolts = new Column(f32)
  private readonly supplyAmps = new Column(f32)
  readonly progressAt = new Column(f64)
  readonly progressDone = new Column(f64)
  readonly progressTotal = new Column(f64)
  readonly progressPhase = new Column(u16)
  readonly phases: Phase[] = []
  private readonly devices: DeviceChange[] = []
  readonly events: TimedEvent[] = []
  private open: { id: PhaseId; startNs: number; attempt: number } | undefined
  private share = { done: 0, total: 0 }

  /** The phase that is open, and how far it says that it is; undefined between phases. */
  get standing(): Standing | undefined {
    return this.open && { phase: this.open.id, attempt: this.open.attempt, ...this.share }
  }

  flashOp(
    kind: FlashOpKind,
    offset: number,
    bytes: number,
    startNs: number,
    endNs: number,
    torn: boolean,
  ): void {
    this.flashStart.push(startNs)
    this.flashEnd.push(endNs)
    this.flashKind.push(kind)
    this.flashOffset.push(offset)
    this.flashBytes.push(bytes)
    this.flashTorn.push(torn ? 1 : 0)
    this.watch?.({ told: 'flash', atNs: endNs, kind, offset, bytes, torn })
  }

  supply(atNs: number, volts: number, milliamps: number): void {
    this.supplyAt.push(atNs)
    this.supplyVolts.push(volts)
    this.supplyAmps.push(milliamps)
  }

  /** @param wires of the cable alone: those that are whole from now on */
  device(atNs: number, device: DeviceId, state: string, alive: boolean, wires?: readonly LaidWire[]): void {
    const change: DeviceChange = { atNs, device, state, alive, ...(wires === undefined ? {} : { wires }) }
    this.devices.push(change)
    this.watch?.({ told: 'device', ...change })
  }

  event(atNs: number, event: SessionEvent): void {
    if (event.kind === 'phase') {
      this.closePhase(atNs, 'done')
      this.open = { id: event.phase, startNs: atNs, attempt: event.attempt }
      this.share = { done: 0, total: 0 }
    }
    if (event.kind === 'progress') {
      this.share = { done: event.done, total: event.total }
      this.progressAt.push(atNs)
      this.progressDone.push(event.done)
      this.progressTotal.push(event.total)
      this.progressPhase.push(this.phases.length)
      return
    }
    if (event.kind === 'attempt-failed') this.closePhase(atNs, 'failed')
    this.events.push({ atNs, event })
    this.watch?.({ told: 'event', atNs, event })
  }

  closePhase(atNs: number, ended: Phase['ended']): void {
    if (this.open === undefined) return
    this.phases.push({ ...this.open, endNs: atNs, ended })
    this.open = undefined
  }

  done(endNs: number): Trace {
    return {
      endNs,
      lanes: this.lanes.map(lane => lane.done()),
      flash: {
        count: this.flashStart.length,
        startNs: this.flashStart.done(),
        endNs: this.flashEnd.done(),
        kind: this.flashKind.done(),
        offset: this.flashOffset.done(),
        bytes: this.flashBytes.done(),
        torn: this.flashTorn.done(),
      },
      supply: {
        count: this.supplyAt.length,
        atNs: this.supplyAt.done(),
        volts: this.supplyVolts.done(),
        milliamps: this.supplyAmps.done(),
      },
      progress: {
        count: this.progressAt.length,
        atNs: this.progressAt.done(),
        done: this.progressDone.done(),
        total: this.progressTotal.done(),
        phase: this.progressPhase.done(),
      },
      phases: [...this.phases],
      devices: [...this.devices],
      events: [...this.events],
    }
  }
}
