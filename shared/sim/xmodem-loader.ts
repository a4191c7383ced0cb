import { classIdOf } from '../image/digest.ts'
import { findIdentity, isIdentity } from '../image/identity-block.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { typeCode, versionNumbers } from '../procedure/bus.ts'
import { crc32 } from '../wire/checksum.ts'
import type { Flasher } from './flasher.ts'
import { type Actor, type Kernel, msToNs } from './kernel.ts'
import type { Line, Listener } from './line.ts'
import { nextRecord, type ReceiverMemory } from './memory.ts'
import type { Powered, PowerRail } from './power.ts'
import type { TraceRecorder } from './trace.ts'
import { BYTE, type Came, look, statedLength } from './xmodem-blocks.ts'

/**
 * A receiver in a boot loader that takes its image by XMODEM-CRC, XMODEM-1K or YMODEM, as C. Forsberg (ed.),
 * XMODEM/YMODEM Protocol Reference, 18 June 1988, has the receiving end; section numbers are of that. Each block is in
 * flash before it is acknowledged. At the end the loader looks for the identity block in what it holds: an image for
 * another type it does not start.
 */
export interface XmodemParts {
  readonly kernel: Kernel
  readonly trace: TraceRecorder
  readonly line: Line
  readonly rail: PowerRail
  readonly flasher: Flasher
  readonly type: ReceiverType
  readonly memory: ReceiverMemory
  readonly protocol: 'xmodem' | 'ymodem'
}

/** From power-up until it asks, and how long it still answers to an end that was said again; common practice. */
const START_MS = 20
/** From the last octet to the answer; common practice, no source. */
const TURNAROUND_NS = 50_000
const LINGER_MS = 500
/** Section 8.2.1. */
const ASK_MS = 3000
/** Section 7.3.2 and 7.4: between blocks, and inside one. */
const BETWEEN_MS = 10_000
const INSIDE_MS = 1000
/** Section 7.3.1. */
const MOST_TRIES = 10
const MOST_HELD_OCTETS = 64 * 1024

const CODE_STARTED = 1
const CODE_PATIENCE = 2
const CODE_DAMAGED = 3
const CODE_ANSWER = 4

type State = 'off' | 'asking' | 'header' | 'receiving' | 'closing' | 'working' | 'lingering' | 'deaf'
const LISTENING: readonly State[] = ['asking', 'header', 'receiving', 'closing', 'lingering']

export class XmodemLoader implements Actor, Listener, Powered {
  private state: State = 'off'
  private held: number[] = []
  /** What it is about to say. */
  private answer: number[] = []
  private powerUps = 0
  private expected = 1
  private offset = 0
  private erasedPages = 0
  private length: number | undefined
  private tries = 0
  /** A block has come whole, but damaged. */
  private sawBlock = false
  private token = 0
  private readonly party: number
  private readonly p: XmodemParts

  constructor(parts: XmodemParts) {
    this.p = parts
    this.party = parts.line.attach('boot loader', 'receiver', this)
  }

  powerUp(): void {
    this.goTo('off', 'starting its boot loader', true)
    this.after(START_MS, CODE_STARTED)
  }

  powerFailed(why: string): void {
    this.p.flasher.powerFailed()
    this.p.line.silence(this.party)
    this.powerUps++
    this.answer = []
    this.goTo('off', 'without power', false)
    const text = `The receiver lost its power: ${why}.`
    this.p.trace.event(this.p.kernel.nowNs, { kind: 'fault', fault: 'power', text })
  }

  destroyed(why: string): void {
    this.p.memory.dead = why
    this.goTo('off', 'destroyed', false)
  }

  hear(octets: Uint8Array, from: number, to: number): boolean {
    if (!LISTENING.includes(this.state)) return false
    for (let i = from; i < to && this.held.length < MOST_HELD_OCTETS; i++) this.held.push(octets[i])
    this.takeNext()
    return true
  }

  wake(code: number, argument: number): void {
    if (code === CODE_ANSWER) return this.sendAnswer(argument)
    if (argument !== this.token) return
    if (code === CODE_STARTED) return this.ask()
    if (code === CODE_DAMAGED) {
      this.held = []
      return this.again()
    }
    if (this.state === 'lingering') return this.goTo('deaf', 'running its image', true)
    if (this.state === 'receiving') return this.again()
    this.askAgain()
  }

  /** Ready for a file from its beginning. */
  private ask(): void {
    this.expected = 1
    this.offset = 0
    this.erasedPages = 0
    this.length = undefined
    this.tries = 0
    this.held = []
    this.goTo(
      this.p.protocol === 'ymodem' ? 'header' : 'asking',
      'in its boot loader, asking for an image',
      true,
    )
    this.askAgain()
  }

  private askAgain(): void {
    this.say(BYTE.crcPlease)
    this.patience(ASK_MS)
  }

  private patience(ms: number): void {
    this.token++
    this.after(ms, CODE_PATIENCE)
  }

  /** Says NAK; who hears nothing after ten of them begins from the start. */
  private again(): void {
    if (this.state === 'lingering') return this.patience(LINGER_MS)
    const isWhole = this.sawBlock
    this.sawBlock = false
    // Before the first sound block a NAK would ask for the one-octet sum, unless a block has come that can be repeated.
    if (this.state !== 'receiving' && !isWhole) return this.patience(ASK_MS)
    if (++this.tries > MOST_TRIES) return this.ask()
    this.say(BYTE.nak)
    this.patience(this.state === 'receiving' ? BETWEEN_MS : ASK_MS)
  }

  private takeNext(): void {
    while (this.held.length > 0 && LISTENING.includes(this.state)) {
      this.token++
      const came = look(this.held)
      // Section 7.4: what does not go on within a second was damaged, and is answered when the line is quiet.
      if (came === undefined) return this.after(INSIDE_MS, CODE_DAMAGED)
      this.held.splice(0, came.octets)
      this.take(came)
    }
  }

  private take(came: Came): void {
    if (this.state === 'lingering') return this.answerOnceMore(came)
    switch (came.came) {
      case 'noise':
        // In the middle of a file the rest of a damaged block follows: it has to be over before an answer is given.
        return this.state === 'receiving' ? this.after(INSIDE_MS, CODE_DAMAGED) : this.patience(ASK_MS)
      case 'cancel':
        return this.ask()
      case 'end':
        return this.state === 'receiving' ? this.endOfFile() : this.patience(ASK_MS)
      case 'damaged':
        this.held = []
        this.sawBlock = true
        return this.after(INSIDE_MS, CODE_DAMAGED)
      case 'block':
        return this.block(came.number, came.data)
    }
  }

  /** The last answer was lost on its way: the sender says the end again. */
  private answerOnceMore(came: Came): void {
    if (came.came === (this.p.protocol === 'xmodem' ? 'end' : 'block')) this.say(BYTE.ack)
    this.patience(LINGER_MS)
  }

  private block(number: number, data: Uint8Array): void {
    if (this.state === 'header') return this.header(number, data)
    if (this.state === 'closing') return this.closing(number, data)
    if (this.state === 'asking' && number !== 1) return this.giveUp()
    this.state = 'receiving'
    if (number === ((this.expected - 1) & 0xff)) return this.accept()
    if (number !== this.expected) return this.giveUp()
    this.tries = 0
    if (this.offset + this.kept(data) > this.p.memory.program.octets.length) return this.giveUp()
    this.keep(data)
  }

  /** How much of a block goes into flash: whole words, and in YMODEM nothing of the padding. */
  private kept(data: Uint8Array): number {
    const { wordBytes } = this.p.type.flash
    const left = this.length === undefined ? data.length : Math.max(0, this.length - this.offset)
    return Math.min(data.length, Math.ceil(left / wordBytes) * wordBytes)
  }

  private keep(data: Uint8Array): void {
    const { flasher, memory, rail, type } = this.p
    const { program } = memory
    const count = this.kept(data)
    const lastPage = Math.ceil((this.offset + count) / program.pageBytes)
    const part = data.slice(0, count)
    if (this.length !== undefined) part.fill(0xff, Math.max(0, this.length - this.offset))
    this.state = 'working'
    const next = () => {
      if (this.erasedPages < lastPage) return flasher.erase(program, this.erasedPages++, next)
      if (count === 0) return this.written(0)
      flasher.program(program, this.offset, part, () => this.written(count))
    }
    const { token } = this
    rail.draw(type.draw.bootMilliamps + type.draw.flashMilliamps)
    // The supply may have fallen under that load.
    if (token === this.token) next()
  }

  private written(count: number): void {
    this.offset += count
    this.expected = (this.expected + 1) & 0xff
    this.p.rail.draw(this.p.type.draw.bootMilliamps)
    this.state = 'receiving'
    this.accept()
  }

  /** Section 5: name, NUL, length in decimal; an empty name says that no file follows. */
  private header(number: number, data: Uint8Array): void {
    if (number !== 0) return this.giveUp()
    this.say(BYTE.ack)
    if (data[0] === 0) return this.ask()
    this.length = statedLength(data)
    this.state = 'asking'
    this.askAgain()
  }

  private closing(number: number, data: Uint8Array): void {
    if (number !== 0) return this.giveUp()
    this.say(BYTE.ack)
    if (data[0] === 0) return this.finish()
    // Only one file has room; the others are refused.
    this.giveUp()
  }

  private endOfFile(): void {
    this.say(BYTE.ack)
    if (this.p.protocol === 'xmodem') return this.finish()
    this.state = 'closing'
    this.askAgain()
  }

  private accept(): void {
    this.say(BYTE.ack)
    this.patience(BETWEEN_MS)
  }

  private giveUp(): void {
    this.say(BYTE.cancel, BYTE.cancel)
    this.ask()
  }

  /** All is there: it is made valid and started, unless it says that it is for another type. */
  private finish(): void {
    const { memory, flasher, type } = this.p
    const octets = memory.program.octets.subarray(0, this.offset)
    const block = findIdentity(octets)
    const identity = isIdentity(block) ? block : undefined
    if (octets.length === 0) return this.ask()
    if (identity && identity.classId !== classIdOf(type.maker, type.name)) {
      const text = 'The image says that it is for another type of receiver.'
      this.p.trace.event(this.p.kernel.nowNs, { kind: 'refused', by: 'receiver', rule: 'image-type', text })
      return this.ask()
    }
    const length = Math.min(this.length ?? identity?.imageLength ?? octets.length, octets.length)
    const record = nextRecord(memory, {
      length,
      crc32: crc32(octets, 0, length),
      typeCode: typeCode(type.id),
      version: versionNumbers(identity?.version ?? '0.0.0'),
      sequenceNumber: identity?.sequenceNumber ?? 0,
      generation: identity?.generation ?? 0,
    })
    this.state = 'working'
    flasher.erase(memory.record, record.page, () =>
      flasher.program(memory.record, record.page * memory.record.pageBytes, record.octets, () =>
        this.linger(),
      ),
    )
  }

  private linger(): void {
    this.state = 'lingering'
    this.patience(LINGER_MS)
  }

  private say(...octets: number[]): void {
    if (this.answer.length === 0) this.p.kernel.after(TURNAROUND_NS, this, CODE_ANSWER, this.powerUps)
    this.answer.push(...octets)
  }

  private sendAnswer(powerUps: number): void {
    if (powerUps !== this.powerUps || this.answer.length === 0) return
    this.p.line.sendOctets(this.party, Uint8Array.from(this.answer))
    this.answer = []
  }

  private goTo(state: State, words: string, alive: boolean): void {
    this.state = state
    this.token++
    this.held = []
    this.p.trace.device(this.p.kernel.nowNs, 'receiver', words, alive)
    if (!alive) return
    const { draw } = this.p.type
    this.p.rail.draw(state === 'deaf' ? draw.idleMilliamps : draw.bootMilliamps)
  }

  private after(ms: number, code: number): void {
    this.p.kernel.after(msToNs(ms), this, code, this.token)
  }
}
