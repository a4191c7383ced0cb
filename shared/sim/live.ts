import type { Flasher } from './flasher.ts'
import type { Heard, HostEnd } from './host-end.ts'
import type { Kernel } from './kernel.ts'
import type { Line, PartyOptions } from './line.ts'
import type { TraceRecorder } from './trace.ts'

/**
 * A simulated table that somebody outside drives: a real port, or a test. It has no clock. Whoever drives it says what
 * time it is, hands over what the host sent, and fetches what the host would hear. The same seed with the same octets
 * at the same times gives the same octets back at the same times.
 */

/** A device with its wires, made but not switched on: what a dialect puts on the far end of the line. */
export interface LiveDevice {
  readonly kernel: Kernel
  readonly trace: TraceRecorder
  readonly line: Line
  /** The near end of the line, where the host is. */
  readonly party: number
  readonly flasher: Flasher | undefined
  switchOn(): void
  switchOff(): void
  /** The host has said its first octet: what talks by itself leaves the line to it, and timed faults begin to run. */
  begin(): void
}

/** How the host talks on the line: as fast as its rate allows, or with hardly any time spent on it (speed tests). */
export const PACE_MODES = ['line', 'unpaced'] as const
export type PaceMode = (typeof PACE_MODES)[number]

/** Ten gigabits a second: a character takes a nanosecond. */
const UNPACED_BITS_PER_SECOND = 1e10

export const lineBitsPerSecond = (mode: PaceMode): { lineBitsPerSecond?: number } =>
  mode === 'unpaced' ? { lineBitsPerSecond: UNPACED_BITS_PER_SECOND } : {}

/** A host outside writes when it likes and in what pieces it likes. @param echo it hears itself: a single wire */
export const hostParty = (echo: boolean): PartyOptions => ({ speaksInPieces: true, hearsItself: echo })

export interface Stall {
  /** From the first octet of the host on. */
  readonly afterMs: number
  readonly forMs: number
}

export class Live {
  readonly device: LiveDevice
  private readonly host: HostEnd
  private readonly stall: Stall | undefined
  private firstHeardNs: number | undefined

  constructor(device: LiveDevice, host: HostEnd, stall?: Stall) {
    this.device = device
    this.host = host
    this.stall = stall
    host.connect(device.kernel, device.line, device.party)
    device.switchOn()
  }

  get nowNs(): number {
    return this.device.kernel.nowNs
  }

  /** When something happens next by itself, in nanoseconds since the start; Infinity when nothing will. */
  get nextNs(): number {
    return this.device.kernel.nextNs
  }

  /** When the host said its first octet; undefined as long as it has not. */
  get begunNs(): number | undefined {
    return this.firstHeardNs
  }

  get overrunOctets(): number {
    return this.host.overrunOctets
  }

  /**
   * Octets that the host sent at this time.
   * @param atNs since the start; a time that has passed already counts as now
   */
  hear(octets: Uint8Array, atNs: number): void {
    this.runTo(atNs)
    if (octets.length === 0) return
    if (this.firstHeardNs === undefined) this.begin()
    this.host.say(octets)
  }

  /** Lets the devices live up to and including this time. */
  runTo(nowNs: number): void {
    const { kernel } = this.device
    if (nowNs > kernel.nowNs) kernel.runTo(nowNs)
  }

  /** What the host would have heard since it was last asked for, with the times at which it would. */
  taken(): readonly Heard[] {
    return this.host.taken()
  }

  /** The host takes the line over without having said anything yet, as a radio does that opens it. */
  begin(): void {
    if (this.firstHeardNs !== undefined) return
    this.firstHeardNs = this.nowNs
    this.device.begin()
    if (this.stall) this.host.stall(this.stall.afterMs, this.stall.forMs)
  }
}
