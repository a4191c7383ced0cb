import type { ReceiverType } from '../model/catalogue.ts'
import { BAUD } from '../procedure/an3155.ts'
import type { AddressMap } from './address-map.ts'
import { type BootRomChip, type Left, serve, type Wish, type Work } from './boot-rom-commands.ts'
import type { Flasher } from './flasher.ts'
import { type Actor, type Kernel, msToNs } from './kernel.ts'
import type { Line, Listener } from './line.ts'
import type { ReceiverMemory } from './memory.ts'
import { recordOfHeld } from './note-image.ts'
import type { Powered, PowerRail } from './power.ts'
import type { TraceRecorder } from './trace.ts'

export interface BootRomParts {
  readonly kernel: Kernel
  readonly trace: TraceRecorder
  readonly line: Line
  readonly rail: PowerRail
  readonly flasher: Flasher
  readonly type: ReceiverType
  readonly memory: ReceiverMemory
  readonly map: AddressMap
  readonly chip: BootRomChip
  /** How the boot pin stands when power comes on; without it the ROM hands over to flash at once. */
  readonly bootPinHeld: boolean
  /**
   * Longest pause inside a command after which the chip gives the command up with NACK. AN3155 publishes none, so
   * undefined, which waits for ever, is the ordinary chip.
   */
  readonly octetTimeoutMs: number | undefined
}

/** From power-up until the ROM listens, and from the last octet to the answer; common practice, no source. */
const START_MS = 2
const TURNAROUND_NS = 50_000

const CODE_STARTED = 1
const CODE_ANSWER = 2
const CODE_ANSWERED = 3
const CODE_GIVE_UP = 4

const NOTHING = new Uint8Array(0)

/**
 * A receiver's controller with its boot pin held: only the loader in its ROM runs, which works whatever flash holds.
 * One thing at a time: octets that come while it answers or works on flash are lost, as with a UART of one octet.
 */
export class BootRomDevice implements Actor, Listener, Powered {
  /** Where the host started the chip, once it has. */
  startedAt: number | undefined
  private work: Work<Left> | undefined
  private wish: Wish | undefined
  private got: number[] = []
  private token = 0
  private readonly party: number
  private readonly p: BootRomParts

  constructor(parts: BootRomParts) {
    this.p = parts
    this.party = parts.line.attach("the chip's own loader", 'receiver', this)
  }

  powerUp(): void {
    this.startedAt = undefined
    this.say(this.p.bootPinHeld ? "starting the chip's own loader" : 'started from flash', true)
    if (this.p.bootPinHeld) this.after(msToNs(START_MS), CODE_STARTED)
  }

  powerFailed(why: string): void {
    this.p.flasher.powerFailed()
    this.p.line.silence(this.party)
    this.stop()
    this.say('without power', false)
    const text = `The receiver lost its power: ${why}.`
    this.p.trace.event(this.p.kernel.nowNs, { kind: 'fault', fault: 'power', text })
  }

  destroyed(why: string): void {
    this.p.memory.dead = why
    this.stop()
    this.say('destroyed', false)
  }

  hear(octets: Uint8Array, from: number, to: number): void {
    const { wish } = this
    if (wish?.want !== 'octets' || !this.understandsLine()) return
    for (let i = from; i < to; i++) this.got.push(octets[i])
    if (this.got.length >= wish.count) return this.carryOn(this.takeOctets(wish.count))
    this.token++
    this.limitPause(wish)
  }

  wake(code: number, argument: number): void {
    if (argument !== this.token) return
    switch (code) {
      case CODE_STARTED:
        return this.begin('reset')
      case CODE_ANSWER:
        return this.sendAnswer()
      case CODE_ANSWERED:
        return this.carryOn(NOTHING)
      case CODE_GIVE_UP:
        return this.begin('giving-up')
    }
  }

  /** It follows the rates that AN3155 states and no other, and takes characters with even parity alone. */
  private understandsLine(): boolean {
    const { baud, parity } = this.p.line
    return parity === 'even' && baud >= BAUD.least && baud <= BAUD.most
  }

  private begin(after: 'reset' | 'giving-up'): void {
    this.got = []
    this.work = serve(this.p.chip, this.p.map, after)
    this.say("in the chip's own loader", true)
    this.p.rail.draw(this.p.type.draw.bootMilliamps)
    this.carryOn(NOTHING)
  }

  private stop(): void {
    this.work = undefined
    this.wish = undefined
    this.got = []
    this.token++
  }

  private carryOn(input: Uint8Array): void {
    const { work } = this
    if (work === undefined) return
    this.token++
    const step = work.next(input)
    if (step.done) return this.leave(step.value)
    this.wish = step.value
    this.grant(step.value)
  }

  private grant(wish: Wish): void {
    switch (wish.want) {
      case 'octets':
        if (this.got.length >= wish.count) return this.carryOn(this.takeOctets(wish.count))
        return this.limitPause(wish)
      case 'answer':
        return this.after(TURNAROUND_NS, CODE_ANSWER)
      case 'erase':
        return this.workOnFlash(then => this.p.flasher.erase(wish.region, wish.page, then))
      case 'program':
        return this.workOnFlash(then => this.p.flasher.program(wish.region, wish.offset, wish.data, then))
    }
  }

  private takeOctets(count: number): Uint8Array {
    return Uint8Array.from(this.got.splice(0, count))
  }

  private limitPause(wish: Wish): void {
    const { octetTimeoutMs } = this.p
    if (wish.want !== 'octets' || octetTimeoutMs === undefined) return
    if (wish.amidCommand || (this.got.length > 0 && wish.count > 1))
      this.after(msToNs(octetTimeoutMs), CODE_GIVE_UP)
  }

  private sendAnswer(): void {
    if (this.wish?.want !== 'answer') return
    this.got = []
    const endNs = this.p.line.sendOctets(this.party, this.wish.octets)
    this.p.kernel.at(endNs, this, CODE_ANSWERED, this.token)
  }

  private workOnFlash(operate: (then: () => void) => void): void {
    const { draw } = this.p.type
    const { work } = this
    this.p.rail.draw(draw.bootMilliamps + draw.flashMilliamps)
    // The supply may have fallen under that load, and the work with it.
    if (this.work !== work) return
    operate(() => {
      this.p.rail.draw(draw.bootMilliamps)
      this.carryOn(NOTHING)
    })
  }

  private leave(left: Left): void {
    this.stop()
    if (left.left === 'reset') return this.after(msToNs(START_MS), CODE_STARTED)
    this.startedAt = left.address
    this.say('started by its own loader', true)
    if (this.p.type.boot.notesRomStart && left.address === this.p.type.flash.programAddress) this.noteItself()
  }

  /** The first thing that such a program does. */
  private noteItself(): void {
    const { memory, type, flasher } = this.p
    const { page, octets } = recordOfHeld(memory, type)
    const done = () => this.say('running its image', true)
    flasher.erase(memory.record, page, () =>
      flasher.program(memory.record, page * memory.record.pageBytes, octets, done),
    )
  }

  private after(delayNs: number, code: number): void {
    this.p.kernel.after(delayNs, this, code, this.token)
  }

  private say(words: string, alive: boolean): void {
    this.p.trace.device(this.p.kernel.nowNs, 'receiver', words, alive)
  }
}
