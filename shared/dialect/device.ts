import type { Dice } from '../sim/dice.ts'
import { type Check, checkOf } from './checksums.ts'
import { numberOf } from './context.ts'
import { answerOf } from './device-answer.ts'
import type { DeviceFault } from './device-faults.ts'
import { type Candidate, Flow, type Place } from './device-flow.ts'
import type { DeviceMemory } from './device-memory.ts'
import { DeviceWork, type Done, type WorkTimes } from './device-work.ts'
import { type Framer, framerOf } from './frames.ts'
import { octetsOfHex } from './hex.ts'
import { type Bound, type Match, type MatchTools, matchSend, NOTHING_BOUND } from './match.ts'
import type { Dialect } from './schema.ts'
import type { ExpectStep, Meaning, WhenStep } from './schema-steps.ts'

/**
 * A receiver made from the same data as the sender: octets in, octets out, each at its time. It knows nothing of
 * ports, kernels or clocks; whoever plays it says what time it is and asks when it wants to speak.
 */
export interface DeviceOptions {
  readonly dialect: Dialect
  readonly memory: DeviceMemory
  readonly fault?: DeviceFault
  /** What it says for captures, by name, instead of the examples in the dialect. */
  readonly says?: Readonly<Record<string, Uint8Array>>
  /** Replies that it prefers where several would do: `sumStart` makes XMODEM use its one-octet sum. */
  readonly prefers?: readonly string[]
  /** From the last octet heard to the first one said. */
  readonly turnaroundNs?: number
  readonly times?: WorkTimes
  /** How long the line has to be quiet before it complains about what it did not understand. */
  readonly quietNs?: number
  /** For garbage; all of it is the same without. */
  readonly dice?: Dice
}

const MS = 1_000_000
const DEFAULT_TIMES: WorkTimes = { eraseNsPerPage: 20 * MS, programNsPerOctet: 20_000 }
/** A message that is longer than any is given up; so is what nobody understands. */
const MOST_HEARD = 16_384
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
  private readonly checks: ReadonlyMap<string, Check>
  private readonly framer: Framer | undefined
  private readonly captures = new Map<string, Uint8Array>()
  private readonly outbox: { atNs: number; octets: Uint8Array }[] = []
  private heard = new Uint8Array(0)
  private bound: Bound = NOTHING_BOUND
  private fault: DeviceFault | undefined
  private dead = false
  private deafUntilNs: number | undefined
  private purgeUntilNs: number | undefined
  private complaint: { step: ExpectStep; place: Place } | undefined
  private gapUntilNs: number | undefined
  private unasked: { step: ExpectStep; everyNs: number; nextNs: number } | undefined
  private busyUntilNs = 0

  /** @param atNs when power comes */
  constructor(options: DeviceOptions, atNs = 0) {
    this.o = options
    this.fault = options.fault
    this.memory = options.memory
    const { dialect } = options
    this.checks = new Map(Object.entries(dialect.checks).map(([name, spec]) => [name, checkOf(spec)]))
    this.framer =
      dialect.frame && framerOf(dialect.frame, this.checks, Math.max(1500, dialect.block.octets + 64))
    this.work = new DeviceWork(
      dialect,
      options.memory,
      this.checks,
      options.times ?? DEFAULT_TIMES,
      options.fault,
    )
    this.flow = new Flow(dialect, when => this.holds(when))
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
    this.outbox.length = 0
    this.forget()
    this.flow.reset()
    this.work.begin()
    this.unasked = undefined
    this.deafUntilNs = undefined
    this.busyUntilNs = atNs
    this.sayAll(this.flow.speaksFirst(), atNs)
  }

  /** Octets have arrived; `atNs` is when the last of them ended. */
  hear(octets: Uint8Array, atNs: number): void {
    if (this.dead || this.fault?.kind === 'silent' || octets.length === 0) return
    if (this.deafUntilNs !== undefined && !this.wakes(octets, atNs)) return
    if (this.purgeUntilNs !== undefined) {
      this.purgeUntilNs = atNs + this.quietNs
      return
    }
    const all = new Uint8Array(Math.min(MOST_HEARD, this.heard.length + octets.length))
    const kept = this.heard.subarray(Math.max(0, this.heard.length + octets.length - all.length))
    all.set(kept)
    all.set(octets.subarray(Math.max(0, octets.length - (all.length - kept.length))), kept.length)
    this.heard = all
    this.process(atNs)
  }

  /** When it next wants to speak, in nanoseconds, or undefined when it does not. */
  due(): number | undefined {
    const times = [this.outbox[0]?.atNs, this.purgeUntilNs, this.gapUntilNs, this.unasked?.nextNs].filter(
      time => time !== undefined,
    )
    return this.dead || times.length === 0 ? undefined : Math.min(...times)
  }

  /** What it says at this time; undefined where that is nothing. Call it at `due`, again until it is later. */
  answer(nowNs: number): Uint8Array | undefined {
    if (this.dead) return undefined
    if (this.purgeUntilNs !== undefined && this.purgeUntilNs <= nowNs) this.complain(nowNs)
    if (this.gapUntilNs !== undefined && this.gapUntilNs <= nowNs) this.giveUp(nowNs)
    if (this.unasked !== undefined && this.unasked.nextNs <= nowNs) this.sayUnasked(nowNs)
    if (this.outbox.length === 0 || this.outbox[0].atNs > nowNs) return undefined
    return this.outbox.shift()?.octets
  }

  private get comesBackNs(): number {
    return this.flow.canBeCalled ? COMES_BACK_NS.callable : COMES_BACK_NS.byLines
  }

  private get quietNs(): number {
    return this.o.quietNs ?? 20 * MS
  }

  /** Deaf after a first attempt that was made to fail: entering it again, leaving it, or time brings it back. */
  private wakes(octets: Uint8Array, atNs: number): boolean {
    const back = this.deafUntilNs !== undefined && atNs >= this.deafUntilNs
    const calls = this.flow
      .candidates()
      .filter(({ section }) => section === 'enter' || section === 'leave')
      .some(c => this.match(c, octets, true).is === 'yes' || this.match(c, octets, false).is === 'yes')
    if (!back && !calls) {
      this.deafUntilNs = atNs + this.comesBackNs
      return false
    }
    this.deafUntilNs = undefined
    this.flow.reset()
    this.work.begin()
    this.sayAll(this.flow.speaksFirst(), atNs)
    // What brought it back is heard as well, unless it only said goodbye.
    return back || this.flow.mode === 'outside'
  }

  private process(atNs: number): void {
    this.gapUntilNs = undefined
    for (let i = 0; i < MOST_MESSAGES && this.heard.length > 0; i++) {
      const was = this.framer === undefined ? this.nextBare(atNs) : this.nextFramed(atNs)
      if (was === 'more') {
        const { receiverGapMs } = this.o.dialect.retries
        if (receiverGapMs !== undefined) this.gapUntilNs = atNs + receiverGapMs * MS
        return
      }
      if (was === 'purging' || this.dead) return
    }
  }

  private nextBare(atNs: number): 'taken' | 'more' | 'purging' {
    let partly = false
    const candidates = this.flow.candidates()
    for (const candidate of candidates) {
      const match = this.match(candidate, this.heard, false)
      if (match.is === 'yes') {
        this.heard = this.heard.slice(match.end)
        this.take(candidate, match.bound, atNs)
        return 'taken'
      }
      if (match.is === 'partly') {
        partly = true
        if (candidate.midway) break
      }
    }
    if (partly) return 'more'
    this.heard = new Uint8Array(0)
    this.purgeUntilNs = atNs + this.quietNs
    this.complaint = complaintOf(candidates)
    return 'purging'
  }

  /** Frames one after the other; what is between them, and what nobody asked for, is passed over. */
  private nextFramed(atNs: number): 'taken' | 'more' {
    const candidates = this.flow.candidates()
    const bare = this.findBare(candidates.filter(({ step }) => step.bare))
    if (bare !== undefined) {
      this.heard = this.heard.slice(bare.end)
      this.take(bare.candidate, bare.bound, atNs)
      return 'taken'
    }
    const framed = candidates.filter(({ step }) => !step.bare)
    let found: { candidate: Candidate; bound: Bound } | undefined
    const end = this.framer?.find(this.heard, body => {
      for (const candidate of framed) {
        const match = this.match(candidate, body, true)
        if (match.is !== 'yes') continue
        found = { candidate, bound: match.bound }
        return true
      }
      return false
    })
    if (end === undefined || end === false || found === undefined) return 'more'
    this.heard = this.heard.slice(end)
    this.take(found.candidate, found.bound, atNs)
    return 'taken'
  }

  private findBare(
    candidates: readonly Candidate[],
  ): { candidate: Candidate; bound: Bound; end: number } | undefined {
    for (let from = 0; candidates.length > 0 && from < this.heard.length; from++)
      for (const candidate of candidates) {
        const match = this.match(candidate, this.heard.subarray(from), false)
        if (match.is === 'yes') return { candidate, bound: match.bound, end: from + match.end }
      }
    return undefined
  }

  private match(candidate: Candidate, octets: Uint8Array, whole: boolean): Match {
    const { block } = this.o.dialect
    const before = candidate.item > 0 ? this.bound : NOTHING_BOUND
    const length = candidate.way.guards.find(({ when, holds }) => when.of === 'length' && holds)?.when.is
    const others = candidate.way.guards.some(({ when, holds }) => when.of === 'length' && !holds)
    const tools: MatchTools = {
      checks: this.checks,
      captured: name => this.captureValue(name),
      usualLength: length ?? (others ? (block.short?.octets ?? block.octets) : block.octets),
    }
    return matchSend(candidate.step.parts, octets, 0, whole, before, tools)
  }

  private captureValue(name: string): number | undefined {
    const octets = this.captures.get(name)
    return octets && numberOf(octets.subarray(-4))
  }

  private holds(when: WhenStep): boolean | undefined {
    if (!when.of.startsWith('capture:')) return undefined
    const octets = this.captures.get(when.of.slice('capture:'.length))
    if (octets === undefined) return false
    if (when.is !== undefined) return numberOf(octets.subarray(-4)) === when.is
    return when.has !== undefined && octets.includes(when.has)
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
    if (complete && done.again !== true) this.unasked = undefined
    if (block && this.fault?.kind === 'garbage' && this.fault.block === this.work.blocks && !done.again) {
      this.fault = undefined
      this.flow.commit()
      this.queue(this.rubbish(), readyNs)
      return
    }
    this.finish(candidate, answers, further, readyNs)
  }

  private finish(
    candidate: Candidate,
    answers: readonly ExpectStep[],
    further: readonly ExpectStep[],
    readyNs: number,
  ): void {
    const stays = this.fault?.kind === 'not-started' && candidate.section === 'start'
    this.sayAll(answers, readyNs)
    if (stays) this.flow.retry(candidate)
    else this.flow.commit()
    this.sayAll(further, readyNs)
    if (candidate.section === 'leave') this.forget()
    if (candidate.section === 'enter' || candidate.section === 'leave')
      this.sayAll(this.flow.speaksFirst(), readyNs)
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
    this.outbox.length = 0
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

  private sayAll(steps: readonly ExpectStep[], atNs: number): void {
    for (const step of steps) {
      this.say(step, 'ok', atNs)
      if (step.unaskedEvery === undefined || this.fault?.kind === 'silent') continue
      const everyNs = Math.max(1, this.timeMs(step.unaskedEvery)) * MS
      this.unasked = { step, everyNs, nextNs: atNs + everyNs }
    }
  }

  private timeMs(time: number | string): number {
    return typeof time === 'number' ? time : this.o.dialect.timings[time].ms
  }

  private sayUnasked(nowNs: number): void {
    if (this.unasked === undefined) return
    this.say(this.unasked.step, 'ok', nowNs)
    this.unasked.nextNs = nowNs + this.unasked.everyNs
  }

  private say(step: ExpectStep, means: Meaning, atNs: number): void {
    if (this.fault?.kind === 'silent' || this.deafUntilNs !== undefined) return
    const octets = answerOf(step, means, {
      dialect: this.o.dialect,
      checks: this.checks,
      number: of => this.known(of),
      readData: () => this.work.readData(this.bound),
      memoryAt: (offset, count) => this.memory.read(offset, count),
      memoryCheck: check => this.work.memoryCheck(check),
      inBootLoader: this.inBootLoader,
      says: this.identitySaid(),
      captured: (name, said) => this.captures.set(name, said),
      prefers: this.o.prefers ?? [],
    })
    if (octets !== undefined) this.queue(this.framer && !step.bare ? this.framer.wrap(octets) : octets, atNs)
  }

  private known(of: string): number {
    if (of.startsWith('capture:')) return this.captureValue(of.slice('capture:'.length)) ?? 0
    return this.bound.numbers.get(of) ?? this.work.session.get(of) ?? 0
  }

  /** Another type than the real one, where it is to be taken for another receiver. */
  private identitySaid(): Readonly<Record<string, Uint8Array>> {
    const says = this.o.says ?? {}
    if (this.fault?.kind !== 'other-identity') return says
    const field = this.o.dialect.identify?.fields.find(({ role }) => role === 'type')
    if (field === undefined) return says
    const usual = says[field.name] ?? exampleOf(this.o.dialect, field.name)
    if (usual === undefined || usual.length === 0) return says
    return { ...says, [field.name]: usual.map((octet, i) => (i === usual.length - 1 ? octet ^ 0x01 : octet)) }
  }

  private queue(octets: Uint8Array, atNs: number): void {
    this.outbox.push({ atNs, octets })
    this.outbox.sort((a, b) => a.atNs - b.atNs)
  }

  private complain(nowNs: number): void {
    const { complaint } = this
    this.purgeUntilNs = undefined
    this.complaint = undefined
    if (complaint === undefined) return
    this.flow.giveUp()
    this.say(complaint.step, 'again', nowNs)
  }

  private giveUp(nowNs: number): void {
    this.gapUntilNs = undefined
    this.heard = new Uint8Array(0)
    this.complaint = complaintOf(this.flow.candidates())
    this.complain(nowNs)
  }

  private forget(): void {
    this.heard = new Uint8Array(0)
    this.bound = NOTHING_BOUND
    this.purgeUntilNs = undefined
    this.gapUntilNs = undefined
    this.complaint = undefined
  }
}

/** Where it says that it did not understand: at the first message that could have been meant. */
function complaintOf(candidates: readonly Candidate[]): { step: ExpectStep; place: Place } | undefined {
  for (const place of candidates) {
    const next = place.way.items.slice(place.item + 1).find(item => 'say' in item)
    if (next !== undefined && 'say' in next && next.say.replies.length > 0) return { step: next.say, place }
  }
  return undefined
}

function exampleOf(dialect: Dialect, name: string): Uint8Array | undefined {
  const parts = (dialect.identify?.steps ?? []).flatMap(step =>
    step.do === 'request'
      ? step.steps.flatMap(s => (s.do === 'expect' ? s.parts : []))
      : step.do === 'expect'
        ? step.parts
        : [],
  )
  const part = parts.find(p => p.part === 'capture' && p.name === name)
  return part?.part === 'capture' && typeof part.says === 'string' && part.says !== 'inBootLoader'
    ? octetsOfHex(part.says)
    : undefined
}
