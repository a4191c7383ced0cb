import { type Actor, type Kernel, msToNs } from './kernel.ts'
import type { Line, Listener } from './line.ts'

/** What the host heard, and when its last stop bit was over. */
export interface Heard {
  readonly atNs: number
  readonly octets: Uint8Array
}

/** More than a host can have under way without asking for an answer; what goes beyond is lost, and counted. */
const MOST_WAITING_OCTETS = 1 << 20
/** Those on the line hear a burst when it ends, so one that goes on and on is passed in pieces. */
const LONGEST_BURST_OCTETS = 4096

const CODE_NEXT = 1
const CODE_STALL = 2
const CODE_GO_ON = 3

/**
 * The near end of a live line: a transmitter that takes octets from outside as fast as they come and says them one
 * after another at the rate of the line, and a receiver that keeps what it heard until somebody outside takes it.
 */
export class HostEnd implements Actor, Listener {
  /** Octets that came while there was no room for them. */
  overrunOctets = 0
  private waiting: Uint8Array[] = []
  private waitingOctets = 0
  private busyUntilNs = 0
  private stalled = false
  private heard: Heard[] = []
  private held: Uint8Array[] = []
  private kernel: Kernel | undefined
  private line: Line | undefined
  private party = -1

  /** Called once, before anything is said. @param party what the line gave this end */
  connect(kernel: Kernel, line: Line, party: number): void {
    this.kernel = kernel
    this.line = line
    this.party = party
  }

  /** Octets from outside: they go on the line now, or as soon as what came before them has gone. */
  say(octets: Uint8Array): void {
    if (octets.length === 0) return
    if (this.waitingOctets + octets.length > MOST_WAITING_OCTETS) {
      this.overrunOctets += octets.length
      return
    }
    this.waiting.push(octets.slice())
    this.waitingOctets += octets.length
    this.sayNext()
  }

  /**
   * From `afterMs` from now on nothing passes in either direction for `forMs`, as when an adapter or a hub hangs; what
   * was held up then goes on its way.
   */
  stall(afterMs: number, forMs: number): void {
    this.kernel?.after(msToNs(afterMs), this, CODE_STALL)
    this.kernel?.after(msToNs(afterMs + forMs), this, CODE_GO_ON)
  }

  hear(octets: Uint8Array, from: number, to: number): void {
    const piece = octets.slice(from, to)
    if (this.stalled) this.held.push(piece)
    else this.keep(piece)
  }

  /** Everything heard since it was last asked for. */
  taken(): readonly Heard[] {
    const { heard } = this
    if (heard.length > 0) this.heard = []
    return heard
  }

  wake(code: number): void {
    if (code === CODE_NEXT) return this.sayNext()
    this.stalled = code === CODE_STALL
    if (this.stalled) return
    for (const piece of this.held) this.keep(piece)
    this.held = []
    this.sayNext()
  }

  private keep(octets: Uint8Array): void {
    this.heard.push({ atNs: this.kernel?.nowNs ?? 0, octets })
  }

  private sayNext(): void {
    const { kernel, line } = this
    if (kernel === undefined || line === undefined) return
    if (this.stalled || this.waitingOctets === 0 || kernel.nowNs < this.busyUntilNs) return
    this.busyUntilNs = line.sendOctets(this.party, this.takeWaiting())
    kernel.at(this.busyUntilNs, this, CODE_NEXT)
  }

  private takeWaiting(): Uint8Array {
    const burst = new Uint8Array(Math.min(this.waitingOctets, LONGEST_BURST_OCTETS))
    let at = 0
    while (at < burst.length) {
      const [first] = this.waiting
      const part = first.subarray(0, burst.length - at)
      burst.set(part, at)
      at += part.length
      if (part.length === first.length) this.waiting.shift()
      else this.waiting[0] = first.subarray(part.length)
    }
    this.waitingOctets -= burst.length
    return burst
  }
}
