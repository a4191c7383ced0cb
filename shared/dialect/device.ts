import { type Check, checksOf } from './checksums.ts'
import type { DeviceFault } from './device-faults.ts'
import { type Candidate, Flow, type Place } from './device-flow.ts'
import { matchCandidate } from './device-hearing.ts'
import { Inbox } from './device-inbox.ts'
import type { DeviceMemory } from './device-memory.ts'
import type { DeviceOptions } from './device-options.ts'
import { otherIdentity, Voice } from './device-voice.ts'
import { DeviceWork, type Done, type WorkTimes } from './device-work.ts'
import { type Framer, framerFor } from './frames.ts'
import { type Bound, NOTHING_BOUND } from './match.ts'
import type { ExpectStep } from './schema-steps.ts'

/**
 * A receiver made from the same data as the sender: octets in, octets out, each at its time. It knows nothing of
 * ports, kernels or clocks; whoever plays it says what time it is and asks when it wants to speak.
 */
const MS = 1_000_000
const DEFAULT_TIMES: WorkTimes = { eraseNsPerPage: 20 * MS, programNsPerOctet: 20_000 }
const QUIET_NS = 20 * MS
/** Messages in one go of hearing: more is a peer that floods. */
const MOST_MESSAGES = 4096
/**
 * After a first attempt that was made to fail it comes back by itself once it has heard nothing for so long: the
 * shorter one where it cannot be called because only DTR and RTS do that.
 */
const COMES_BACK_NS = { callable: 30_000 * MS, byLines: 2000 * MS }

export class DialectDevice {
  readonly memory: DeviceMemory
  readonly work: DeviceWork
  private readonly o: DeviceOptions
  private readonly flow: Flow
  private readonly voice: Voice
  private readonly checks: ReadonlyMap<string, Check>
  private readonly framer: Framer | undefined
  private readonly inbox: Inbox
  private bound: Bound = NOTHING_BOUND
  private fault: DeviceFault | undefined
  private dead = false
  private deafUntilNs: number | undefined
  private busyUntilNs = 0

  /** @param atNs when power comes */
  constructor(options: DeviceOptions, atNs = 0) {
    const { dialect, memory, fault, times = DEFAULT_TIMES, quietNs = QUIET_NS } = options
    const { receiverGapMs } = dialect.retries
    this.o = options
    this.fault = fault
    this.memory = memory
    this.checks = checksOf(dialect)
    this.framer = framerFor(dialect, this.checks)
    this.inbox = new Inbox({ quietNs, gapNs: receiverGapMs && receiverGapMs * MS })
    this.work = new DeviceWork(dialect, memory, this.checks, times, fault)
    this.voice = new Voice(dialect, this.framer, () => this.answerTools())
    this.flow = new Flow(dialect, when => this.voice.holds(when))
    this.sayAll(this.flow.speaksFirst(), atNs)
  }

  /** True while its boot loader runs. */
  get inBootLoader(): boolean {
    return this.flow.mode === 'loader'
  }

  /** True once its supply has gone for good. */
  get isDead(): boolean {
    return this.dead
  }

  /** Power off and on: what was heard is forgotten, what was written stays. A fault that has happened is over. */
  restart(atNs: number): void {
    this.dead = false
    if (this.fault?.kind === 'cut' || this.fault?.kind === 'stall') this.fault = undefined
    this.work.fault = this.fault
    this.voice.silence()
    this.forget()
    this.busyUntilNs = atNs
    this.comeBack(atNs)
  }

  /** Octets have arrived; `atNs` is when the last of them ended. */
  hear(octets: Uint8Array, atNs: number): void {
    if (this.dead || this.fault?.kind === 'silent' || octets.length === 0) return
    if (this.deafUntilNs !== undefined && !this.wakes(octets, atNs)) return
    if (this.inbox.add(octets, atNs)) this.process(atNs)
  }

  /** When it next wants to speak, in nanoseconds, or undefined when it does not. */
  due(): number | undefined {
    if (this.dead) return undefined
    const [speaksNs, overdueNs] = [this.voice.dueNs(), this.inbox.dueNs]
    if (speaksNs === undefined || overdueNs === undefined) return speaksNs ?? overdueNs
    return Math.min(speaksNs, overdueNs)
  }

  /** What it says at this time; undefined where that is nothing. Call it at `due`, again until it is later. */
  answer(nowNs: number): Uint8Array | undefined {
    if (this.dead) return undefined
    const complaint = this.inbox.overdue(nowNs, () => this.flow.candidates())
    if (complaint !== undefined) {
      this.flow.giveUp()
      this.say(complaint, 'again', nowNs)
    }
    return this.voice.next(nowNs)
  }

  private get comesBackNs(): number {
    return this.flow.canBeCalled ? COMES_BACK_NS.callable : COMES_BACK_NS.byLines
  }

  private get hearing() {
    const captured = (name: string) => this.voice.captured(name)
    return { dialect: this.o.dialect, checks: this.checks, framer: this.framer, captured, bound: this.bound }
  }

  /** Deaf after a first attempt that was made to fail: entering it again, leaving it, or time brings it back. */
  private wakes(octets: Uint8Array, atNs: number): boolean {
    const { hearing } = this
    const back = this.deafUntilNs !== undefined && atNs >= this.deafUntilNs
    const calls = this.flow
      .candidates()
      .filter(({ section }) => section === 'enter' || section === 'leave')
      .some(c => [true, false].some(whole => matchCandidate(c, octets, whole, hearing).is === 'yes'))
    if (!back && !calls) {
      this.deafUntilNs = atNs + this.comesBackNs
      return false
    }
    this.comeBack(atNs)
    // What brought it back is heard as well, unless it only said goodbye.
    return back || this.flow.mode === 'outside'
  }

  private comeBack(atNs: number): void {
    this.deafUntilNs = undefined
    this.flow.reset()
    this.work.begin()
    this.sayAll(this.flow.speaksFirst(), atNs)
  }

  private process(atNs: number): void {
    for (let i = 0; i < MOST_MESSAGES && !this.inbox.isEmpty && !this.dead; i++) {
      const next = this.inbox.next(this.flow.candidates(), this.hearing, atNs)
      if (next === undefined) return
      this.take(next.candidate, next.bound, atNs)
    }
  }

  private take(candidate: Candidate, bound: Bound, atNs: number): void {
    this.bound = bound
    const { answers, further, complete } = this.flow.take(candidate)
    const block = candidate.section === 'block' && complete
    if (block && this.failsBefore(candidate, answers, atNs)) return
    const done: Done = complete ? this.work.do(candidate.section, bound) : { means: 'ok', workNs: 0 }
    const readyNs = this.readyNs(atNs, done.workNs)
    if (block && this.failsAfter(done)) return
    if (done.means !== 'ok') {
      this.flow.retry(candidate)
      if (answers.length > 0) this.say(answers[0], done.means, readyNs)
      return
    }
    if (complete && done.again !== true) this.voice.wasHeard()
    if (block && this.fault?.kind === 'garbage' && this.fault.block === this.work.blocks && !done.again) {
      this.fault = undefined
      this.flow.commit()
      return this.voice.queue(this.rubbish(), readyNs)
    }
    this.finish(candidate, answers, further, readyNs)
  }

  private finish(
    place: Place,
    answers: readonly ExpectStep[],
    further: readonly ExpectStep[],
    readyNs: number,
  ): void {
    const { section } = place
    this.sayAll(answers, readyNs)
    if (this.fault?.kind === 'not-started' && section === 'start') this.flow.retry(place)
    else this.flow.commit()
    this.sayAll(further, readyNs)
    if (section === 'leave') this.forget()
    if (section === 'enter' || section === 'leave') this.sayAll(this.flow.speaksFirst(), readyNs)
  }

  /** Faults that keep a block from being taken. @returns whether it ends here */
  private failsBefore(place: Place, answers: readonly ExpectStep[], atNs: number): boolean {
    const nth = this.work.blocks + 1
    const { fault } = this
    if (fault?.kind === 'first-attempt') {
      this.fault = undefined
      this.deafUntilNs = atNs + this.comesBackNs
      this.forget()
      return true
    }
    if (fault?.kind === 'stall' && nth >= fault.block) return true
    if (fault?.kind !== 'nack' || nth !== fault.block || fault.times < 1) return false
    this.fault = fault.times > 1 ? { ...fault, times: fault.times - 1 } : undefined
    this.flow.retry(place)
    if (answers.length > 0) this.say(answers[0], 'again', this.readyNs(atNs, 0))
    return true
  }

  /** The supply goes while it writes: nothing is heard of it any more. */
  private failsAfter(done: Done): boolean {
    if (this.fault?.kind !== 'cut' || this.work.blocks !== this.fault.block || done.again) return false
    this.dead = true
    this.voice.silence()
    return true
  }

  private rubbish(): Uint8Array {
    const { dice } = this.o
    return Uint8Array.from({ length: 5 }, (_, i) =>
      dice ? Math.floor(dice.next() * 256) : (0xa7 * (i + 3)) & 0xff,
    )
  }

  private readyNs(atNs: number, workNs: number): number {
    this.busyUntilNs = Math.max(this.busyUntilNs, atNs) + workNs
    return this.busyUntilNs + (this.o.turnaroundNs ?? 50_000)
  }

  private get mute(): boolean {
    return this.fault?.kind === 'silent' || this.deafUntilNs !== undefined
  }

  private sayAll(steps: readonly ExpectStep[], atNs: number): void {
    if (!this.mute) this.voice.sayAll(steps, atNs)
  }

  private say(step: ExpectStep, means: Done['means'], atNs: number): void {
    if (!this.mute) this.voice.say(step, means, atNs)
  }

  private answerTools() {
    const { dialect, says = {}, prefers = [] } = this.o
    return {
      ...{ dialect, prefers, checks: this.checks, inBootLoader: this.inBootLoader },
      says: this.fault?.kind === 'other-identity' ? otherIdentity(dialect, says) : says,
      number: (of: string) => this.known(of),
      readData: () => this.work.readData(this.bound),
      memoryAt: (offset: number, count: number) => this.memory.read(offset, count),
      memoryCheck: (check: Check) => this.work.memoryCheck(check),
    }
  }

  private known(of: string): number {
    if (of.startsWith('capture:')) return this.voice.captured(of.slice('capture:'.length)) ?? 0
    return this.bound.numbers.get(of) ?? this.work.session.get(of) ?? 0
  }

  private forget(): void {
    this.inbox.forget()
    this.bound = NOTHING_BOUND
  }
}
