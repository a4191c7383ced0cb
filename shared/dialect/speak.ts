import {
  readBackFirst,
  readBackFound,
  sentAgain,
  sentInVain,
  type WhyAgain,
} from '../procedure/again-words.ts'
import type { EffectResult, Procedure } from '../procedure/effects.ts'
import { bitsPerCharacter } from '../wire/uart.ts'
import { Answer } from './answer.ts'
import { type Check, checksOf } from './checksums.ts'
import type { Context } from './context.ts'
import { encoderOf } from './encode.ts'
import { type Framer, framerFor } from './frames.ts'
import { messageNames } from './message-words.ts'
import type { WriteFailure } from './plan.ts'
import type { Dialect } from './schema.ts'
import type {
  ExpectStep,
  LineStep,
  RepeatStep,
  RequestStep,
  SendStep,
  Step,
  Time,
  WhenStep,
} from './schema-steps.ts'
import { silentEndMs, type Timing, unanswered, unaskedMs } from './silence.ts'

/** How a list of steps went. */
export interface Went {
  readonly went: 'ok' | 'again' | 'nothing' | 'wrong' | 'refused' | 'stop' | 'failed'
  readonly text: string
  readonly code?: WriteFailure
  /** What a repeated `again` means here, for the person. */
  readonly refusal?: string | undefined
  /** Of a refusal that nothing has named yet: what the dialect says that the answer means. */
  readonly reason?: string | undefined
}
const OK: Went = { went: 'ok', text: '' }
const NOTHING: Went = { went: 'nothing', text: 'no answer' }
const WRONG: Went = { went: 'wrong', text: 'an answer that was not understood' }

/** A receiver that says "not yet" for ever must not hold us. */
const MOST_WAITS = 100
/** What port and computer may add to all waits together. */
const LATE_MS = 1000
/** A line that is never quiet is taken as it is after so many arrivals. */
const MOST_QUIET_ROUNDS = 200

/** What was answered, or not, to a message that a series has sent already. */
export interface Given {
  readonly to: ExpectStep
  readonly result: EffectResult
}

/** Looks whether a request needs to be said again after all. */
export type BeforeRepeat = () => Procedure<'say-again' | 'is-done'>

/** Carries out the steps of a dialect, from the side of the workbench. */
export class Speaker {
  /** Repeats of requests so far. */
  retries = 0
  /** How often the receiver asked to wait. */
  waits = 0
  /** What silence comes to: nobody there, or contact lost. */
  silence: 'no-answer' | 'lost-contact' = 'no-answer'
  /** So long it was waited in vain for a receiver that speaks by itself, in milliseconds: nobody is there. */
  unheardMs: number | undefined
  /** Something was sent in this attempt. */
  hasSent = false
  /** This is the first attempt of all. */
  isFirst = true
  /** What comes after this attempt if nothing is answered any more: so many attempts, each after a pause. */
  after = { attempts: 0, pauseMs: 0 }
  beforeRepeat: BeforeRepeat | undefined
  readonly checks: ReadonlyMap<string, Check>
  private readonly dialect: Dialect
  private readonly c: Context
  private readonly framer: Framer | undefined
  private readonly sends = new Map<SendStep, (c: Context) => Uint8Array>()
  private readonly answers = new Map<ExpectStep, Answer>()
  private readonly wordOctets: number
  private readonly names: ReturnType<typeof messageNames>
  private baud: number

  constructor(dialect: Dialect, baud: number, c: Context, wordOctets = 1) {
    this.dialect = dialect
    this.baud = baud
    this.c = c
    this.wordOctets = wordOctets
    this.checks = checksOf(dialect)
    this.names = messageNames(dialect)
    this.framer = framerFor(dialect, this.checks)
  }

  /** @param given what came of the first step's exchange, where that was carried out in a series already */
  *carryOut(steps: readonly Step[], given?: Given): Procedure<Went> {
    for (const step of steps) {
      const went = given && step.do === 'request' ? yield* this.request(step, given) : yield* this.one(step)
      if (went.went !== 'ok') return went
    }
    return OK
  }

  /** The octets that a send says now. */
  octetsOf(step: SendStep): Uint8Array {
    let encode = this.sends.get(step)
    if (encode === undefined) {
      encode = encoderOf(step.parts, this.checks, this.dialect.block.octets + this.wordOctets)
      this.sends.set(step, encode)
    }
    const octets = encode(this.c)
    return this.framer && !step.bare ? this.framer.wrap(octets) : octets
  }

  timeMs(time: Time): number {
    if (typeof time === 'number') return time
    const { ms, perPageMs = 0, perOctetMs = 0 } = this.dialect.timings[time]
    return ms + perPageMs * this.c.pageCount + perOctetMs * this.c.length
  }

  private *one(step: Step): Procedure<Went> {
    switch (step.do) {
      case 'send':
        this.hasSent = true
        yield { do: 'send', octets: this.octetsOf(step) }
        return OK
      case 'expect':
        return yield* this.expect(step)
      case 'request':
        return yield* this.request(step)
      case 'repeat':
        return yield* this.repeat(step)
      case 'when':
        return yield* this.carryOut(this.holds(step) ? step.steps : step.otherwise)
      case 'wait':
        yield { do: 'wait', ms: this.timeMs(step.for) }
        return OK
      case 'quiet':
        yield* this.quiet(this.timeMs(step.for))
        return OK
      case 'line':
        return yield* this.line(step)
      case 'fail':
        return { went: 'failed', code: 'not-supported', text: step.text }
    }
  }

  private *line({ dtr, rts, break: broken, baud }: LineStep): Procedure<Went> {
    if (baud !== undefined) this.baud = baud
    const set = yield {
      do: 'line',
      ...(dtr === undefined ? {} : { dtr }),
      ...(rts === undefined ? {} : { rts }),
      ...(broken === undefined ? {} : { break: broken }),
      ...(baud === undefined ? {} : { baud }),
    }
    if (set.got === 'failed')
      return { went: 'failed', code: 'no-line', text: 'The port cannot be set like this.' }
    return set.got === 'refused' ? { went: 'failed', code: 'no-line', text: set.text } : OK
  }

  /** Takes everything until nothing has come for so long. */
  *quiet(ms: number): Procedure<void> {
    for (let i = 0; i < MOST_QUIET_ROUNDS; i++) {
      const more = yield { do: 'receive', until: everything, timeoutMs: ms }
      if (more.got !== 'octets' || ms === 0) return
    }
  }

  holds({ of, is, has }: WhenStep): boolean {
    if (is !== undefined) return this.c.number(of) === is
    const captured = of.startsWith('capture:') ? this.c.captures.get(of.slice(8)) : undefined
    return has !== undefined && captured?.octets.includes(has) === true
  }

  /** An expectation, made ready. */
  answerFor(step: ExpectStep): Answer {
    let answer = this.answers.get(step)
    if (answer === undefined) {
      answer = new Answer(step, this.dialect, this.checks, this.framer, this.c)
      this.answers.set(step, answer)
    }
    return answer
  }

  /** How long is waited for what is expected, once the receiver has been heard, in milliseconds. */
  timeoutMs(step: ExpectStep): number {
    return this.timeMs(step.within) + this.answerFor(step).expectedOctets() * this.timing().characterMs
  }

  private *expect(step: ExpectStep, given?: EffectResult): Procedure<Went> {
    const answer = this.answerFor(step)
    const { characterMs } = this.timing()
    const isUnheard = this.silence === 'no-answer'
    const firstMs = isUnheard ? unaskedMs(step, this.isFirst, this.timing().timeMs) : this.timeMs(step.within)
    yield* this.sayWaiting(step, firstMs)
    let crossed: Went | undefined
    for (let waits = 0, first = given; waits < MOST_WAITS; waits++, first = undefined) {
      if (first === undefined) answer.begin()
      const withinMs = crossed === undefined ? firstMs : this.timeMs(step.crossing?.within ?? step.within)
      const timeoutMs = withinMs + answer.expectedOctets() * characterMs
      const result = first ?? (yield { do: 'receive', until: answer.until, timeoutMs })
      if (result.got !== 'octets') {
        if (step.unaskedEvery !== undefined && this.silence === 'no-answer') this.unheardMs = timeoutMs
        return crossed ?? NOTHING
      }
      if (answer.wrong) return WRONG
      this.silence = 'lost-contact'
      const { reply } = answer
      if (reply === undefined || reply.means === 'ok') return OK
      if (reply.means === 'wait') {
        this.waits++
        continue
      }
      const { means, text: reason } = reply
      const text = means === 'refused' ? (step.refusal ?? refusedWords('what it was told', reason)) : reason
      const went = { went: means, text, refusal: step.refusal, reason }
      if (reply.name !== step.crossing?.reply) return went
      crossed = went
    }
    return NOTHING
  }

  /** Where the receiver has to speak first, nothing is sent meanwhile: whoever looks on should know why. */
  private *sayWaiting(step: ExpectStep, mostMs: number): Procedure<void> {
    if (step.unaskedEvery === undefined) return
    const everyMs = this.timeMs(step.unaskedEvery)
    if (mostMs <= everyMs) return
    const text =
      this.silence === 'no-answer'
        ? `Waiting for the receiver, which speaks first (about every ${seconds(everyMs)}): at most ${seconds(mostMs)}. Nothing is sent until then.`
        : `Waiting for the receiver to ask for what comes next: at most ${seconds(mostMs)}.`
    yield { do: 'say', event: { kind: 'note', level: 'info', text, mostMs } }
  }

  private *repeat(step: RepeatStep): Procedure<Went> {
    let went = NOTHING
    let silent = 0
    for (let times = 0; times < step.times && silent < (step.silent ?? step.times); times++) {
      went = yield* this.carryOut(step.steps)
      if (went.went !== 'again' && went.went !== 'nothing' && went.went !== 'wrong') return went
      silent = went.went === 'nothing' ? silent + 1 : 0
    }
    return went
  }

  private *request(step: RequestStep, given?: Given): Procedure<Went> {
    const most = step.tries ?? this.dialect.retries.request
    const mostSilent = this.dialect.retries.silent ?? most
    let went = OK
    let silent = 0
    for (let tries = 1; tries <= most; tries++) {
      if (tries > 1) {
        const last = went.went === 'nothing' ? Math.min(most, tries - 1 + mostSilent - silent) : most
        yield* this.sayRetry(step, tries, last, went)
        if (yield* this.isDoneAlready(step)) return OK
      }
      const isGiven = given !== undefined && tries === 1
      went = isGiven ? yield* this.expect(given.to, given.result) : yield* this.carryOut(step.steps)
      if (went.went === 'refused' && went.refusal === undefined && went.reason !== undefined)
        return { ...went, text: refusedWords(this.nameOf(step), went.reason), reason: undefined }
      if (went.went === 'ok' || went.went === 'refused' || went.went === 'stop' || went.went === 'failed')
        return went
      silent = went.went === 'nothing' ? silent + 1 : 0
      if (silent >= mostSilent || !(yield* this.resynchronise(step, went))) break
    }
    return this.givenUp(step, went)
  }

  private *isDoneAlready(step: RequestStep): Procedure<boolean> {
    const look = this.beforeRepeat
    if (look === undefined) return false
    const name = this.nameOf(step)
    this.beforeRepeat = undefined
    try {
      const found = yield* look()
      yield { do: 'say', event: { kind: 'note', level: 'info', text: readBackFound(name, found) } }
      return found === 'is-done'
    } finally {
      this.beforeRepeat = look
    }
  }

  private *sayRetry(step: RequestStep, tries: number, most: number, went: Went): Procedure<void> {
    this.retries++
    const { what } = step
    const silentMs = went.went === 'nothing' ? this.silentMs(step, most - tries + 1) : undefined
    const end =
      silentMs === undefined
        ? ''
        : ` If it stays silent, this ends in at most ${Math.ceil(silentMs / 1000)} s.`
    const words = this.beforeRepeat ? readBackFirst : sentAgain
    const text = `${words(this.nameOf(step), whyAgain(went), tries, most)}${end}`
    yield { do: 'say', event: { kind: 'retry', what, tries, text } }
  }

  /** How long all of it still takes at the most where nobody answers any more and this is said so often again. */
  private silentMs(step: RequestStep, times: number): number {
    const timing = this.timing()
    const between = unanswered(step.resynchronise ?? this.dialect.resynchronise, timing).ms
    const lookMs = this.beforeRepeat ? unanswered(this.dialect.read?.steps ?? [], timing).ms : 0
    const { attempts, pauseMs } = this.after
    const here = times * (unanswered(step.steps, timing).ms + between) + lookMs
    return LATE_MS + here + silentEndMs(attempts, pauseMs, timing)
  }

  private timing(): Timing {
    const { parity, stopBits } = this.dialect.line
    const bits = bitsPerCharacter(parity === 'odd' ? 'even' : parity) + stopBits - 1
    return {
      dialect: this.dialect,
      timeMs: time => this.timeMs(time),
      characterMs: (bits * 1000) / this.baud,
      // What is under way was answered before, and is given all its time.
      isFirst: true,
    }
  }

  /** @returns false when the receiver stays silent even so */
  private *resynchronise(step: RequestStep, { went }: Went): Procedure<boolean> {
    const steps = step.resynchronise ?? this.dialect.resynchronise
    // What has arrived by now belongs to what was said before, and must not be taken for the next answer.
    if (steps.length === 0 || went === 'again') {
      yield* this.quiet(0)
      return true
    }
    return (yield* this.carryOut(steps)).went === 'ok'
  }

  private givenUp(step: RequestStep, went: Went): Went {
    if (went.went === 'again' && went.refusal !== undefined) return { went: 'refused', text: went.refusal }
    const code = went.went === 'again' ? 'lost-contact' : this.silence
    return { went: 'failed', code, text: sentInVain(this.nameOf(step), whyAgain(went)) }
  }

  private nameOf(step: RequestStep): string {
    return this.names.get(step)?.(this.c) ?? step.what
  }
}

const whyAgain = ({ went }: Went): WhyAgain => (went === 'again' || went === 'wrong' ? went : 'nothing')
/** A reason that says no more than that it was refused is none. */
const refusedWords = (what: string, reason: string): string =>
  `the receiver refused ${what}${reason === 'refused' ? '' : ` (${reason})`}`
const seconds = (ms: number): string => `${Math.round(ms / 100) / 10} s`
const everything = (got: Uint8Array): number | false => (got.length > 0 ? got.length : false)
