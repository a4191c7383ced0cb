import { encodeFrame, maxEncodedLength } from '../wire/hdlc.ts'
import { bitsPerCharacter, hearNoisy, hearTogether, type Parity, type Spoken } from '../wire/uart.ts'
import type { Dice } from './dice.ts'
import type { Actor, Kernel } from './kernel.ts'
import { BURST, type LaneId, LaneRecorder } from './trace.ts'

/**
 * A wire that several talk on, half-duplex, idle high, low wins. Bursts are laid down whole, with a start exact to
 * the nanosecond; what others hear is worked out when the burst, or the tangle of bursts that overlap, has ended.
 * Clean bursts are handed on where they lie in the trace; only tangles and noise are decoded bit by bit.
 */
export interface Listener {
  /**
   * Octets have arrived.
   * @param whole true when they are one burst just as it was sent
   * @returns false when it is off and hears nothing; anything else when it does
   */
  hear(octets: Uint8Array, from: number, to: number, whole: boolean): unknown
}

/** The line has two ends when its cable is open; nearer ends hear each other, across the gap nothing passes. */
export type Side = 'radio' | 'receiver'

export interface PartyOptions {
  /** On a single wire that it also talks on, its receiver hears what its transmitter says. */
  readonly hearsItself?: boolean
  /** Its bursts begin and end anywhere, also in the middle of a frame. */
  readonly speaksInPieces?: boolean
}

interface Party {
  readonly listener: Listener
  readonly side: Side
  readonly hearsItself: boolean
  readonly speaksInPieces: boolean
  lastSpokeUntilNs: number
}

export interface LineOptions {
  readonly id: LaneId
  readonly label: string
  readonly baud: number
  readonly parity: Parity
  readonly bitErrorRate: number
  readonly dice: Dice
  /** How fast bits really follow one another, where that is not the rate: a simulated line that need not wait. */
  readonly bitsPerSecond?: number | undefined
}

export class Line implements Actor {
  readonly recorder: LaneRecorder
  readonly baud: number
  readonly parity: Parity
  private readonly bits: number
  private readonly bitsPerSecond: number
  private readonly kernel: Kernel
  private readonly parties: Party[] = []
  private readonly bitErrorRate: number
  private readonly dice: Dice
  private bitsUntilFlip = Number.POSITIVE_INFINITY
  /** Bursts that overlap, from the first that nobody has heard yet. */
  private tangle: number[] = []
  private tangleEndNs = -1
  private openSinceNs = Number.POSITIVE_INFINITY
  /** Bursts handed on, and those of them that did not arrive as sent. */
  bursts = 0
  spoilt = 0
  /** Set for endless runs: the trace is thrown away when it has grown this long. */
  forgetAfterOctets = Number.POSITIVE_INFINITY

  constructor(kernel: Kernel, options: LineOptions) {
    this.kernel = kernel
    this.baud = options.baud
    this.parity = options.parity
    this.bits = bitsPerCharacter(options.parity)
    this.bitsPerSecond = options.bitsPerSecond ?? options.baud
    this.bitErrorRate = options.bitErrorRate
    this.dice = options.dice
    this.recorder = new LaneRecorder(options.id, options.label, options.baud, this.bits, options.parity)
    if (this.bitErrorRate > 0) this.drawFlip()
  }

  attach(name: string, side: Side, listener: Listener, options: PartyOptions = {}): number {
    const { hearsItself = false, speaksInPieces = false } = options
    this.recorder.talkers.push(name)
    return this.parties.push({ listener, side, hearsItself, speaksInPieces, lastSpokeUntilNs: -1 }) - 1
  }

  /** Duration of so many characters in nanoseconds. */
  durationNs(characters: number): number {
    return Math.round((characters * this.bits * 1e9) / this.bitsPerSecond)
  }

  /** The cable opens now and stays open. */
  open(): void {
    this.openSinceNs = Math.min(this.openSinceNs, this.kernel.nowNs)
  }

  /** Sends a frame body as an RFC 1662 frame. @returns when its last stop bit ends */
  sendFrame(party: number, frameBody: Uint8Array, length = frameBody.length): number {
    const { recorder } = this
    this.deliver()
    const first = recorder.reserve(maxEncodedLength(length))
    return this.lay(party, first, encodeFrame(frameBody, length, recorder.octets, first))
  }

  /** Sends octets as they are. @returns when the last stop bit ends */
  sendOctets(party: number, octets: Uint8Array, length = octets.length): number {
    this.deliver()
    const first = this.recorder.reserve(length)
    this.recorder.octets.set(length === octets.length ? octets : octets.subarray(0, length), first)
    return this.lay(party, first, length)
  }

  /** Stops what this party is saying, as when its power fails: characters not finished are not heard. */
  silence(party: number): void {
    const { nowNs } = this.kernel
    const { recorder } = this
    for (const burst of this.tangle) {
      if (recorder.talker.at(burst) !== party) continue
      const finished = Math.floor(
        ((nowNs - recorder.startNs.at(burst)) * this.bitsPerSecond) / 1e9 / this.bits,
      )
      if (finished < recorder.octetCount.at(burst)) {
        recorder.octetCount.set(burst, Math.max(0, finished))
        recorder.flags.set(burst, recorder.flags.at(burst) | BURST.lost)
        this.tangleEndNs = this.endOfTangle()
        this.kernel.at(this.tangleEndNs, this, 0, burst)
      }
    }
  }

  private endOfTangle(): number {
    const { recorder } = this
    return this.tangle.reduce(
      (end, burst) =>
        Math.max(end, recorder.startNs.at(burst) + this.durationNs(recorder.octetCount.at(burst))),
      this.kernel.nowNs,
    )
  }

  private lay(party: number, first: number, count: number): number {
    const { nowNs } = this.kernel
    const endNs = nowNs + this.durationNs(count)
    const burst = this.recorder.burst(nowNs, party, first, count)
    this.parties[party].lastSpokeUntilNs = endNs
    if (nowNs < this.tangleEndNs) {
      for (const other of this.tangle) this.mark(other, BURST.collided)
      this.mark(burst, BURST.collided)
      this.tangle.push(burst)
      this.tangleEndNs = Math.max(this.tangleEndNs, endNs)
    } else {
      this.tangle.length = 1
      this.tangle[0] = burst
      this.tangleEndNs = endNs
    }
    this.kernel.at(endNs, this, 0, burst)
    return endNs
  }

  private mark(burst: number, flag: number): void {
    this.recorder.flags.set(burst, this.recorder.flags.at(burst) | flag)
  }

  wake(): void {
    this.deliver()
  }

  /**
   * A burst has ended; when it is the last of its tangle, the others hear what came of it. Asked before each new
   * burst too: one that begins in the nanosecond in which another ends may come first in the kernel's order.
   */
  private deliver(): void {
    const { nowNs } = this.kernel
    if (nowNs < this.tangleEndNs || this.tangle.length === 0) return
    this.bursts += this.tangle.length
    if (this.tangle.length === 1 && this.openSinceNs > nowNs) this.passOne(this.tangle[0])
    else this.passTangle()
    this.tangle.length = 0
    if (this.recorder.octetLength > this.forgetAfterOctets) this.recorder.forget()
  }

  private passOne(burst: number): void {
    const { recorder } = this
    const from = recorder.firstOctet.at(burst)
    const to = from + recorder.octetCount.at(burst)
    const talker = recorder.talker.at(burst)
    const flips = this.bitErrorRate > 0 ? this.drawFlips((to - from) * this.bits) : undefined
    if (flips === undefined || flips.length === 0) {
      const { octets } = recorder
      const whole = !this.parties[talker].speaksInPieces
      let anybody = false
      for (let p = 0; p < this.parties.length; p++) {
        if (!this.hears(p, talker)) continue
        const listens = this.parties[p].listener.hear(octets, from, to, whole) !== false
        if (listens && p !== talker) anybody = true
      }
      if (!anybody) this.mark(burst, BURST.lost)
      return
    }
    this.mark(burst, BURST.noisy)
    this.spoilt++
    const spoken = { startNs: recorder.startNs.at(burst), octets: recorder.octets, from, to }
    const heard = hearNoisy(spoken, flips, this.bitsPerSecond, this.parity)
    recorder.heard.push({ atNs: this.kernel.nowNs, octets: heard.octets, framingErrors: heard.framingErrors })
    for (let p = 0; p < this.parties.length; p++)
      if (this.hears(p, talker)) this.parties[p].listener.hear(heard.octets, 0, heard.octets.length, false)
  }

  private hears(party: number, talker: number): boolean {
    return party !== talker || this.parties[party].hearsItself
  }

  /** Overlapping bursts, or an open cable: each side hears what reaches it. */
  private passTangle(): void {
    this.spoilt += this.tangle.length
    const cut = this.openSinceNs <= this.kernel.nowNs
    for (const side of ['radio', 'receiver'] as const) {
      const spoken = this.tangle.map(burst => this.reaching(burst, side)).filter(s => s.to > s.from)
      if (spoken.length === 0) continue
      const heard = hearTogether(spoken, this.bitsPerSecond, this.parity)
      // Through a whole cable both sides hear the same, so it is noted once.
      if (this.tangle.length > 1 && (cut || side === 'radio'))
        this.recorder.heard.push({
          atNs: this.kernel.nowNs,
          octets: heard.octets,
          framingErrors: heard.framingErrors,
        })
      for (let p = 0; p < this.parties.length; p++) {
        const party = this.parties[p]
        if (party.side !== side) continue
        const spoke = !party.hearsItself && this.tangle.some(burst => this.recorder.talker.at(burst) === p)
        let from = 0
        if (spoke) while (from < heard.octets.length && heard.startNs[from] < party.lastSpokeUntilNs) from++
        if (from < heard.octets.length) party.listener.hear(heard.octets, from, heard.octets.length, false)
      }
    }
  }

  /** The part of a burst that gets to one side: all of it, or what had passed before the cable opened. */
  private reaching(burst: number, side: Side): Spoken {
    const { recorder } = this
    const startNs = recorder.startNs.at(burst)
    const from = recorder.firstOctet.at(burst)
    const count = recorder.octetCount.at(burst)
    // The end of a burst is rounded to a nanosecond; one that has ended has passed whole.
    const openAfterNs = this.openSinceNs - startNs
    const passed =
      openAfterNs >= this.durationNs(count)
        ? count
        : Math.floor((openAfterNs * this.bitsPerSecond) / 1e9 / this.bits)
    const crosses = this.parties[recorder.talker.at(burst)].side !== side
    if (crosses && passed < count) this.mark(burst, BURST.lost)
    return {
      startNs,
      octets: recorder.octets,
      from,
      to: from + (crosses ? Math.max(0, Math.min(count, passed)) : count),
    }
  }

  private drawFlip(): void {
    // The gap to the next inverted bit is geometric; drawing it costs one die an error instead of one a bit.
    this.bitsUntilFlip = Math.floor(Math.log1p(-this.dice.next()) / Math.log1p(-this.bitErrorRate))
  }

  private drawFlips(bitCount: number): number[] {
    const flips: number[] = []
    let at = this.bitsUntilFlip
    while (at < bitCount) {
      flips.push(at)
      this.drawFlip()
      at += 1 + this.bitsUntilFlip
    }
    this.bitsUntilFlip = at - bitCount
    return flips
  }
}
