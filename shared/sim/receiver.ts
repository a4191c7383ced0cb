import type { RuleId } from '../fit/rule-ids.ts'
import { firstBroken } from '../fit/rules.ts'
import type { Situation } from '../fit/situation.ts'
import { classIdOf } from '../image/digest.ts'
import { findIdentity, isIdentity } from '../image/identity-block.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { isKnown } from '../model/units.ts'
import { factsAnnounced } from '../procedure/announce.ts'
import {
  ADDRESS,
  type Announcement,
  body,
  identityBody,
  KIND,
  MAX_BODY,
  MAX_WRITE_DATA,
  numberBody,
  REFUSAL,
  REPLY_BIT,
  readAnnouncement,
  readNumber,
  refusalBody,
  refusalOf,
  versionText,
} from '../procedure/bus.ts'
import { crc32 } from '../wire/checksum.ts'
import { FrameDecoder } from '../wire/hdlc.ts'
import type { Flasher } from './flasher.ts'
import { type Actor, type Kernel, msToNs } from './kernel.ts'
import type { Line, Listener } from './line.ts'
import {
  bootLoaderImage,
  bootLoaderWhole,
  identityOf,
  nextRecord,
  type ReceiverMemory,
  startable,
} from './memory.ts'
import type { Powered, PowerRail } from './power.ts'
import type { TraceRecorder } from './trace.ts'

type State = 'off' | 'starting' | 'boot-loader' | 'running' | 'dead'
export type Medium = 'bus' | 'air'

const CODE_BOOTED = 1
const CODE_REPLY = 2
const CODE_LISTENED = 3
const CODE_APP_UP = 4

const START_MS = 5
const APP_START_MS = 90
/** CRC-32 by software on a small controller, about one octet a microsecond; common practice, no source. */
const DIGEST_NS_PER_OCTET = 900
const ERASE_BURST_MOST = 32

export interface ReceiverParts {
  readonly kernel: Kernel
  readonly trace: TraceRecorder
  readonly type: ReceiverType
  readonly memory: ReceiverMemory
  readonly flasher: Flasher
  readonly rail: PowerRail
  /** The receiver's own truth, without an image: the rules that it stands by look at this. */
  readonly situation: Situation
  readonly settleMs: number
  /** It and the module know each other: otherwise it does not answer by air. */
  readonly bound: boolean
  /** The telemetry bus it hangs on, or none when only the air reaches it. */
  readonly line: Line | undefined
  /** Sends a reply over the air. */
  readonly overAir: (frameBody: Uint8Array) => void
  readonly onPower: (on: boolean) => void
}

/**
 * The receiver as a device: it answers on the bus and on the air, writes its flash in the time flash takes, checks an
 * image before it starts it, and has a boot loader that survives an interrupted write.
 */
export class Receiver implements Actor, Listener, Powered {
  private state: State = 'off'
  private settledAtNs = 0
  private quietUntilNs = -1
  private announced: Announcement | undefined
  private airSession = false
  private stayInBootLoader = false
  private restartAfterReply = false
  private pending: { body: Uint8Array; medium: Medium } | undefined
  private token = 0
  private busy = false
  private readonly party: number
  private readonly decoder = new FrameDecoder(MAX_BODY)
  private readonly p: ReceiverParts

  constructor(parts: ReceiverParts) {
    this.p = parts
    this.party = parts.line?.attach('receiver', 'receiver', this) ?? -1
  }

  powerUp(): void {
    if (this.p.memory.dead !== undefined) return this.goTo('dead', 'dark: it was destroyed before', false)
    this.p.onPower(true)
    this.start(false)
  }

  powerFailed(why: string): void {
    this.p.flasher.powerFailed()
    this.p.line?.silence(this.party)
    this.goTo('off', 'without power', false)
    this.airSession = false
    this.announced = undefined
    this.busy = false
    this.pending = undefined
    this.restartAfterReply = false
    this.quietUntilNs = -1
    this.workWords = ''
    this.decoder.reset()
    this.p.onPower(false)
    this.p.trace.event(this.p.kernel.nowNs, {
      kind: 'fault',
      fault: 'power',
      text: `The receiver lost its power: ${why}.`,
    })
  }

  destroyed(why: string): void {
    this.p.memory.dead = why
    this.goTo('dead', 'destroyed', false)
    this.p.trace.event(this.p.kernel.nowNs, {
      kind: 'fault',
      fault: 'destroyed',
      text: `The receiver was destroyed: ${why}.`,
    })
  }

  hear(octets: Uint8Array, from: number, to: number, whole: boolean): boolean {
    if (this.state !== 'boot-loader' && this.state !== 'running') return false
    const address = octets[from + 1]
    if (!whole || address === ADDRESS.receiver || address === ADDRESS.all)
      this.decoder.push(octets, from, to, this.onFrame, ignore)
    return true
  }

  /** A packet has come in by air. */
  hearAir(frame: Uint8Array): void {
    if (!this.p.bound) return
    if (this.state === 'running' || (this.state === 'boot-loader' && this.airSession)) this.ask(frame, 'air')
  }

  /** Can it be found by air at all right now? */
  get listensOnAir(): boolean {
    return this.p.bound && (this.state === 'running' || (this.state === 'boot-loader' && this.airSession))
  }

  wake(code: number, argument: number): void {
    if (argument !== this.token) return
    switch (code) {
      case CODE_BOOTED:
        return this.booted()
      case CODE_LISTENED:
        return this.startImage()
      case CODE_APP_UP:
        return this.goTo('running', 'running its image', true)
      case CODE_REPLY:
        return this.sendReply()
    }
  }

  private readonly onFrame = (frame: Uint8Array, length: number) => {
    if (frame[0] === ADDRESS.receiver || frame[0] === ADDRESS.all) this.ask(frame.subarray(0, length), 'bus')
  }

  private goTo(state: State, words: string, alive: boolean): void {
    this.state = state
    this.token++
    const { draw } = this.p.type
    const idle = state === 'running' ? draw.idleMilliamps : draw.bootMilliamps
    // Told before it draws: the supply may fall under the new load, and what that does is told after this.
    this.p.trace.device(this.p.kernel.nowNs, 'receiver', words, alive)
    if (alive) this.p.rail.draw(idle + (this.airSession ? draw.radioMilliamps : 0))
  }

  private start(stay: boolean): void {
    this.stayInBootLoader = stay
    this.goTo('starting', 'starting', true)
    if (this.state === 'starting') this.p.kernel.after(msToNs(START_MS), this, CODE_BOOTED, this.token)
  }

  private booted(): void {
    if (!bootLoaderWhole(this.p.memory)) {
      this.goTo('dead', 'silent: its boot loader is damaged', false)
      return
    }
    this.settledAtNs = this.p.kernel.nowNs + msToNs(this.p.settleMs)
    this.goTo('boot-loader', 'in its boot loader', true)
    if (this.state !== 'boot-loader') return
    const image = startable(this.p.memory)
    if (this.stayInBootLoader || image === undefined) return
    const checkNs = image.length * DIGEST_NS_PER_OCTET
    this.p.kernel.after(msToNs(this.p.type.boot.listenMs) + checkNs, this, CODE_LISTENED, this.token)
  }

  private startImage(): void {
    if (this.announced !== undefined || startable(this.p.memory) === undefined) return
    this.goTo('starting', 'starting its image', true)
    if (this.state !== 'starting') return
    this.p.kernel.after(msToNs(APP_START_MS), this, CODE_APP_UP, this.token)
  }

  private ask(frame: Uint8Array, medium: Medium): void {
    // One thing at a time: what comes while flash is busy goes unheard, as it does on a controller without buffers.
    if (this.busy || this.pending !== undefined) return
    const kind = frame[1]
    const { type } = this.p
    if (kind === KIND.quiet) {
      this.quietUntilNs = this.p.kernel.nowNs + (frame[2] ?? 0) * 1e9
      return
    }
    if (kind === KIND.resume) {
      this.quietUntilNs = -1
      return
    }
    if (frame[0] !== ADDRESS.receiver) return
    if (kind === KIND.poll) {
      if (this.state === 'running' && this.p.kernel.nowNs >= this.quietUntilNs)
        this.reply(this.telemetry(), medium)
      return
    }
    if (kind === KIND.identify) {
      const refused = medium === 'air' ? firstBroken(this.p.situation, 'receiver') : undefined
      if (refused) return this.refuseByRule(kind, refused.rule.id, refused.sentence, medium)
      return this.reply(
        identityBody(
          ADDRESS.receiver,
          identityOf(type, this.p.memory, this.state === 'boot-loader', MAX_WRITE_DATA),
        ),
        medium,
      )
    }
    if (kind === KIND.enter) return this.enter(medium)
    if (kind === KIND.restart) {
      this.restartAfterReply = true
      this.stayInBootLoader = false
      return this.accept(kind, medium)
    }
    if (this.state === 'boot-loader') this.askBootLoader(frame, kind, medium)
  }

  private telemetry(): Uint8Array {
    const millivolts = Math.round(this.p.rail.volts * 1000)
    return body(ADDRESS.receiver, KIND.poll | REPLY_BIT, [millivolts >> 8, millivolts & 0xff, 0, 0])
  }

  private enter(medium: Medium): void {
    if (medium === 'air') {
      const refused = firstBroken(this.p.situation, 'receiver')
      if (refused) return this.refuseByRule(KIND.enter, refused.rule.id, refused.sentence, medium)
    }
    this.airSession = medium === 'air'
    if (this.state === 'running') {
      this.restartAfterReply = true
      this.stayInBootLoader = true
    } else {
      // Somebody wants it: the listening time does not run out any more.
      this.token++
      this.stayInBootLoader = true
    }
    this.accept(KIND.enter, medium)
  }

  private askBootLoader(frame: Uint8Array, kind: number, medium: Medium): void {
    switch (kind) {
      case KIND.begin:
        return this.begin(frame, medium)
      case KIND.erase:
        return this.settled() ? this.erasePages(frame, medium) : undefined
      case KIND.write:
        return this.settled() ? this.write(frame, medium) : undefined
      case KIND.digest:
        return this.digest(frame, medium)
      case KIND.commit:
        return this.commit(medium)
      default:
        return this.refuse(kind, REFUSAL.unknownRequest, medium)
    }
  }

  /** Until it has settled, its flash is locked, and a request that needs flash goes unheard. */
  private settled(): boolean {
    return this.p.kernel.nowNs >= this.settledAtNs
  }

  private begin(frame: Uint8Array, medium: Medium): void {
    const announced = readAnnouncement(frame)
    if (announced === undefined) return this.refuse(KIND.begin, REFUSAL.outOfBounds, medium)
    const refused = firstBroken(this.facing(announced, 'none'), 'receiver')
    if (refused) return this.refuseByRule(KIND.begin, refused.rule.id, refused.sentence, medium)
    this.announced = announced
    this.token++
    this.accept(KIND.begin, medium)
  }

  private facing(announced: Announcement, label: 'agrees' | 'differs' | 'none'): Situation {
    const { situation, type } = this.p
    const image = factsAnnounced(announced, situation.bench.catalogue.receiverTypes, type, label)
    return { ...situation, image }
  }

  private erasePages(frame: Uint8Array, medium: Medium): void {
    const { memory, flasher, type } = this.p
    const first = (frame[2] << 8) | frame[3]
    // Missing in a frame that is too short; then it is out of bounds.
    const count = frame[4] ?? 0
    if (this.announced === undefined) return this.refuse(KIND.erase, REFUSAL.notBegun, medium)
    if (count < 1 || count > ERASE_BURST_MOST || first + count > memory.program.wear.length)
      return this.refuse(KIND.erase, REFUSAL.outOfBounds, medium)
    this.work('erasing')
    const one = (page: number) => {
      if (page === first + count)
        return this.rest(() => this.accept(KIND.erase, medium, [first >> 8, first & 0xff, count]))
      flasher.erase(memory.program, page, () => one(page + 1))
    }
    this.p.rail.draw(type.draw.bootMilliamps + type.draw.flashMilliamps + this.airMilliamps())
    if (this.state === 'boot-loader') one(first)
  }

  private write(frame: Uint8Array, medium: Medium): void {
    const { memory, flasher, type } = this.p
    const offset = readNumber(frame)
    if (this.announced === undefined || offset === undefined)
      return this.refuse(KIND.write, REFUSAL.notBegun, medium)
    // The frame lies in the decoder's buffer, which the next frame overwrites while flash still works.
    const data = frame.slice(6)
    const { octets } = memory.program
    if (data.length === 0 || data.length % type.flash.wordBytes !== 0 || offset % type.flash.wordBytes !== 0)
      return this.refuse(KIND.write, REFUSAL.outOfBounds, medium)
    if (offset + data.length > octets.length) return this.refuse(KIND.write, REFUSAL.outOfBounds, medium)
    const answer = () => this.reply(numberBody(ADDRESS.receiver, KIND.write | REPLY_BIT, offset), medium)
    // A repeat, because the answer was lost on its way: it is there already.
    if (data.every((octet, i) => octets[offset + i] === octet)) return answer()
    for (let i = 0; i < data.length; i++)
      if (octets[offset + i] !== 0xff) return this.refuse(KIND.write, REFUSAL.flashFailed, medium)
    this.work('writing')
    this.p.rail.draw(type.draw.bootMilliamps + type.draw.flashMilliamps + this.airMilliamps())
    if (this.state === 'boot-loader') flasher.program(memory.program, offset, data, () => this.rest(answer))
  }

  private digest(frame: Uint8Array, medium: Medium): void {
    const length = readNumber(frame)
    const { octets } = this.p.memory.program
    if (length === undefined || length > octets.length)
      return this.refuse(KIND.digest, REFUSAL.outOfBounds, medium)
    const value = crc32(octets, 0, length)
    this.pending = { body: numberBody(ADDRESS.receiver, KIND.digest | REPLY_BIT, value), medium }
    this.p.kernel.after(length * DIGEST_NS_PER_OCTET + this.turnaroundNs(), this, CODE_REPLY, this.token)
  }

  /** The image is looked at as a whole before anything calls it valid. */
  private commit(medium: Medium): void {
    const { announced } = this
    const { program } = this.p.memory
    if (announced === undefined) return this.refuse(KIND.commit, REFUSAL.notBegun, medium)
    if (crc32(program.octets, 0, announced.length) !== announced.crc32)
      return this.refuse(KIND.commit, REFUSAL.digestDiffers, medium)
    const refused = firstBroken(this.facing(announced, this.labelInside(announced)), 'receiver')
    if (refused) return this.refuseByRule(KIND.commit, refused.rule.id, refused.sentence, medium)
    this.work('making the image valid')
    this.writeRecord(announced, () =>
      this.replaceBootLoader(announced, () => this.rest(() => this.accept(KIND.commit, medium))),
    )
  }

  private labelInside(announced: Announcement): 'agrees' | 'differs' | 'none' {
    const block = findIdentity(this.p.memory.program.octets.subarray(0, announced.length))
    if (block === undefined) return 'none'
    const { maker, name } = this.p.type
    const version = versionText(announced.version)
    return isIdentity(block) && block.classId === classIdOf(maker, name) && block.version === version
      ? 'agrees'
      : 'differs'
  }

  private writeRecord(a: Announcement, then: () => void): void {
    const { memory, flasher } = this.p
    const { page, octets } = nextRecord(memory, {
      length: a.length,
      crc32: a.crc32,
      typeCode: a.typeCode,
      version: a.version,
      sequenceNumber: a.sequenceNumber,
      generation: a.generation || this.ownGeneration(),
    })
    flasher.erase(memory.record, page, () =>
      flasher.program(memory.record, page * memory.record.pageBytes, octets, then),
    )
  }

  private ownGeneration(): number {
    const { generation } = this.p.situation.receiver
    return isKnown(generation) ? generation : 0
  }

  /** A conversion can bring a new boot loader. While that is written, nothing but the chip's own loader is left. */
  private replaceBootLoader(a: Announcement, then: () => void): void {
    const { memory, flasher, type } = this.p
    const conversion = type.conversions.find(c => c.to === a.generation && c.from === a.convertsFrom)
    if (!conversion?.replacesBootLoader) return then()
    const fresh = bootLoaderImage(2, memory.boot.octets.length)
    const { pageBytes, wear } = memory.boot
    const one = (page: number) => {
      if (page === wear.length) return then()
      const data = fresh.subarray(page * pageBytes, (page + 1) * pageBytes)
      flasher.erase(memory.boot, page, () =>
        flasher.program(memory.boot, page * pageBytes, data, () => one(page + 1)),
      )
    }
    one(0)
  }

  private airMilliamps(): number {
    return this.airSession ? this.p.type.draw.radioMilliamps : 0
  }

  private work(words: string): void {
    this.busy = true
    if (words !== this.workWords) this.p.trace.device(this.p.kernel.nowNs, 'receiver', words, true)
    this.workWords = words
  }
  private workWords = ''

  private rest(then: () => void): void {
    this.busy = false
    this.p.rail.draw(this.p.type.draw.bootMilliamps + this.airMilliamps())
    then()
  }

  private turnaroundNs(): number {
    return this.p.type.bus.turnaroundMicros * 1000
  }

  private accept(kind: number, medium: Medium, payload: ArrayLike<number> = []): void {
    this.reply(body(ADDRESS.receiver, kind | REPLY_BIT, payload), medium)
  }

  private refuse(kind: number, reason: number, medium: Medium): void {
    this.reply(refusalBody(ADDRESS.receiver, kind, reason), medium)
  }

  private refuseByRule(kind: number, rule: RuleId, sentence: string, medium: Medium): void {
    this.p.trace.event(this.p.kernel.nowNs, { kind: 'refused', by: 'receiver', rule, text: sentence })
    this.refuse(kind, refusalOf(rule), medium)
  }

  private reply(frameBody: Uint8Array, medium: Medium): void {
    this.pending = { body: frameBody, medium }
    this.p.kernel.after(this.turnaroundNs(), this, CODE_REPLY, this.token)
  }

  private sendReply(): void {
    const { pending } = this
    this.pending = undefined
    if (pending === undefined) return
    let endNs = this.p.kernel.nowNs
    if (pending.medium === 'air') this.p.overAir(pending.body)
    else if (this.p.line) endNs = this.p.line.sendFrame(this.party, pending.body)
    if (!this.restartAfterReply) return
    this.restartAfterReply = false
    this.announced = undefined
    const stay = this.stayInBootLoader
    this.stayInBootLoader = false
    this.restartLater(endNs, stay)
  }

  private restartLater(atNs: number, stay: boolean): void {
    this.goTo('starting', stay ? 'restarting into its boot loader' : 'restarting', true)
    if (this.state !== 'starting') return
    this.stayInBootLoader = stay
    if (!stay) this.airSession = false
    this.p.kernel.at(atNs + msToNs(START_MS), this, CODE_BOOTED, this.token)
  }
}

const ignore = () => {}
