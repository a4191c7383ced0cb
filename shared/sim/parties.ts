import { ADDRESS, body, KIND, MAX_BODY, REPLY_BIT } from '../procedure/bus.ts'
import { FrameDecoder } from '../wire/hdlc.ts'
import { type Actor, type Kernel, msToNs } from './kernel.ts'
import type { Line, Listener } from './line.ts'

/** Who else is on the telemetry bus: the radio that polls, and sensors that answer. */

const SENSOR_TURNAROUND_NS = 200_000
const QUIET_NS = msToNs(120_000)
const CHATTER_NS = msToNs(4)

const CODE_ANSWER = 1
const CODE_CHATTER = 2
const CODE_POLL = 3

/** Answers when it is polled. A chatty one also speaks by itself, until it has noticed that it should be quiet. */
export class Sensor implements Actor, Listener {
  private readonly kernel: Kernel
  private readonly line: Line
  private readonly party: number
  private readonly address: number
  private readonly answer: Uint8Array
  private readonly decoder = new FrameDecoder(MAX_BODY)
  private readonly talksForNs: number | undefined
  private quietUntilNs = -1
  private speaksUntilNs = -1
  private chattersUntilNs: number
  private powered = false

  constructor(
    kernel: Kernel,
    line: Line,
    options: { name: string; address: number; replyOctets: number; talksForNs?: number },
  ) {
    this.kernel = kernel
    this.line = line
    this.address = options.address
    this.talksForNs = options.talksForNs
    this.chattersUntilNs = options.talksForNs === undefined ? -1 : Number.POSITIVE_INFINITY
    this.answer = body(options.address, KIND.poll | REPLY_BIT, new Uint8Array(options.replyOctets))
    this.party = line.attach(options.name, 'receiver', this)
  }

  power(on: boolean): void {
    this.powered = on
    this.speaksUntilNs = -1
    if (!on) this.line.silence(this.party)
    else if (this.chattersUntilNs > this.kernel.nowNs) this.kernel.after(CHATTER_NS, this, CODE_CHATTER)
  }

  hear(octets: Uint8Array, from: number, to: number, whole: boolean): boolean {
    if (!this.powered) return false
    if (!whole || octets[from + 1] === this.address || octets[from + 1] === ADDRESS.all)
      this.decoder.push(octets, from, to, this.onFrame, ignore)
    return true
  }

  private readonly onFrame = (frame: Uint8Array) => {
    const [address, kind] = frame
    const { nowNs } = this.kernel
    if (kind === KIND.quiet && address === ADDRESS.all) {
      if (this.talksForNs === undefined) this.quietUntilNs = nowNs + QUIET_NS
      else if (this.chattersUntilNs === Number.POSITIVE_INFINITY)
        this.chattersUntilNs = nowNs + this.talksForNs
    } else if (kind === KIND.resume && address === ADDRESS.all) this.quietUntilNs = -1
    else if (kind === KIND.poll && address === this.address && nowNs >= this.quietUntilNs)
      this.kernel.after(SENSOR_TURNAROUND_NS, this, CODE_ANSWER)
  }

  wake(code: number): void {
    if (!this.powered) return
    if (code === CODE_CHATTER) {
      if (this.kernel.nowNs >= this.chattersUntilNs) return
      this.kernel.after(CHATTER_NS, this, CODE_CHATTER)
    }
    // One transmitter cannot say two things at once.
    if (this.kernel.nowNs < this.speaksUntilNs) return
    // A counter in the first octets, so that a frame that was changed on its way is told from the next one.
    const octets = this.answer
    octets[2] = (octets[2] + 1) & 0xff
    if (octets[2] === 0 && octets.length > 3) octets[3] = (octets[3] + 1) & 0xff
    this.speaksUntilNs = this.line.sendFrame(this.party, octets)
  }
}

const ignore = () => {}

/** The radio's telemetry cycle: one address a slot. */
export class Poller implements Actor {
  private readonly kernel: Kernel
  private readonly line: Line
  private readonly party: number
  private readonly addresses: readonly number[]
  private readonly slotNs: number
  private readonly frame = body(0, KIND.poll)
  private next = 0
  private polling = false

  constructor(kernel: Kernel, line: Line, party: number, addresses: readonly number[], slotNs: number) {
    this.kernel = kernel
    this.line = line
    this.party = party
    this.addresses = addresses
    this.slotNs = slotNs
  }

  start(): void {
    if (this.polling) return
    this.polling = true
    this.kernel.after(0, this, CODE_POLL)
  }

  stop(): void {
    this.polling = false
  }

  wake(): void {
    if (!this.polling) return
    this.frame[0] = this.addresses[this.next]
    this.next = (this.next + 1) % this.addresses.length
    this.line.sendFrame(this.party, this.frame)
    this.kernel.after(this.slotNs, this, CODE_POLL)
  }
}
