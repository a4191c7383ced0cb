import {
  bitErrorProbability,
  frameErrorProbability,
  type LinkEnds,
  linkMarginDb,
  receivedDbm,
} from '../air/path.ts'
import type { Band, Region } from '../model/units.ts'
import { encodeFrame, maxEncodedLength } from '../wire/hdlc.ts'
import type { Dice } from './dice.ts'
import { type Actor, type Kernel, msToNs } from './kernel.ts'
import { BURST, LaneRecorder } from './trace.ts'

/**
 * The air between module and receiver, in its first form: slots, one packet each way in a slot, loss by margin, by
 * overload near the antenna and by whoever else is there.
 */

export interface AirTiming {
  readonly bitsPerSecond: number
  readonly slotNs: number
  /** Preamble, synchronisation word and check value around each frame. */
  readonly overheadOctets: number
}

/** Our own link's figures; the legal limits that they keep are in the tests. */
export const airTiming = (band: Band): AirTiming =>
  band === '2.4GHz'
    ? { bitsPerSecond: 500_000, slotNs: msToNs(7), overheadOctets: 12 }
    : { bitsPerSecond: 250_000, slotNs: msToNs(8.5), overheadOctets: 12 }

/** Observation before talking, ETSI EN 300 328: at least 18 microseconds. */
export const LISTEN_NS = 18_000
/** What a hand, a fuselage or a reflection adds or takes from packet to packet. Common practice, no source. */
const FADE_DB = 4
/** A signal is heard over another that is weaker by this much; common practice for such modulation. */
const CAPTURE_DB = 8
/** Overload by this much loses every packet. Common practice, no source. */
const OVERLOAD_SPAN_DB = 8

export interface AirEnd {
  hearAir(frameBody: Uint8Array): void
}

export interface AirOptions {
  readonly ends: LinkEnds
  readonly timing: AirTiming
  readonly region: Region
  readonly interference: { readonly share: number; readonly dbm: number }
  readonly loss: Dice
  readonly traffic: Dice
}

const MODULE = 0
const RECEIVER = 1

export class Air implements Actor {
  readonly recorder: LaneRecorder
  /** Slots in which a module that listens first stayed silent. */
  deferred = 0
  packets = 0
  lost = 0
  private waiting: Uint8Array | undefined
  /** On their way, by number: a short packet may overtake a long one. */
  private readonly arriving = new Map<number, { frame: Uint8Array; to: number }>()
  private module: AirEnd | undefined
  private receiver: AirEnd | undefined
  private readonly kernel: Kernel
  private readonly o: AirOptions
  private readonly scratch = new Uint8Array(maxEncodedLength(80))

  constructor(kernel: Kernel, options: AirOptions) {
    this.kernel = kernel
    this.o = options
    this.recorder = new LaneRecorder('air', 'Air', options.timing.bitsPerSecond, 8, 'none')
    this.recorder.talkers.push('module', 'receiver')
  }

  connect(module: AirEnd, receiver: AirEnd): void {
    this.module = module
    this.receiver = receiver
  }

  /** The module sends in the next slot; a frame that still waits is replaced. */
  fromModule(frameBody: Uint8Array): void {
    const fresh = this.waiting === undefined
    this.waiting = frameBody
    if (fresh) this.nextSlot()
  }

  /** The receiver answers in the return part of the slot. */
  fromReceiver(frameBody: Uint8Array): void {
    this.transmit(RECEIVER, frameBody)
  }

  wake(code: number, argument: number): void {
    if (code === MODULE_SLOT) return this.slot()
    const packet = this.arriving.get(argument)
    this.arriving.delete(argument)
    if (packet) (packet.to === RECEIVER ? this.receiver : this.module)?.hearAir(packet.frame)
  }

  private nextSlot(): void {
    const { slotNs } = this.o.timing
    const at = (Math.floor(this.kernel.nowNs / slotNs) + 1) * slotNs
    this.kernel.at(at, this, MODULE_SLOT)
  }

  private slot(): void {
    const frame = this.waiting
    if (frame === undefined) return
    if (this.o.region === 'lbt' && this.occupied()) {
      this.deferred++
      this.nextSlot()
      return
    }
    this.waiting = undefined
    this.transmit(MODULE, frame)
  }

  private occupied(): boolean {
    return this.o.interference.share > 0 && this.o.traffic.next() < this.o.interference.share
  }

  private transmit(from: number, frameBody: Uint8Array): void {
    const { recorder, kernel } = this
    const length = encodeFrame(frameBody, frameBody.length, this.scratch, 0)
    const first = recorder.reserve(length)
    recorder.octets.set(this.scratch.subarray(0, length), first)
    const startNs = kernel.nowNs + (this.o.region === 'lbt' ? LISTEN_NS : 0)
    const burst = recorder.burst(startNs, from, first, length)
    const bits = (length + this.o.timing.overheadOctets) * 8
    const endNs = startNs + Math.round((bits * 1e9) / this.o.timing.bitsPerSecond)
    this.packets++
    if (this.isLost(bits, from)) {
      this.lost++
      recorder.flags.set(burst, recorder.flags.at(burst) | BURST.lost)
      return
    }
    this.arriving.set(this.packets, { frame: frameBody, to: from === MODULE ? RECEIVER : MODULE })
    kernel.at(endNs, this, ARRIVAL, this.packets)
  }

  /** Does this packet get lost? By noise at its margin, by overload, or under somebody else's signal. */
  private isLost(bits: number, from: number): boolean {
    const { ends, interference, loss, region } = this.o
    const fade = loss.between(-FADE_DB, FADE_DB)
    const margin = linkMarginDb(ends) + fade
    if (loss.next() < frameErrorProbability(bitErrorProbability(margin), bits)) return true
    const overload = receivedDbm(ends) - ends.overloadDbm
    if (overload > 0 && loss.next() < overload / OVERLOAD_SPAN_DB) return true
    // Listening has found the channel free for the module's packet; nothing protects one that did not listen.
    const exposed = interference.share > 0 && (region !== 'lbt' || from === RECEIVER)
    if (!exposed || loss.next() >= interference.share) return false
    return receivedDbm(ends) + fade < interference.dbm + CAPTURE_DB
  }
}

const MODULE_SLOT = 1
const ARRIVAL = 2
