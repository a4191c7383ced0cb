import type { Procedure } from '../procedure/effects.ts'
import type { PhaseId } from '../sim/trace.ts'
import { Context } from './context.ts'
import { identityFrom } from './identity.ts'
import type { IdentityField, WriteFailure } from './plan.ts'
import type { Dialect } from './schema.ts'
import type { Step } from './schema-steps.ts'
import { type Given, Speaker, type Went } from './speak.ts'

/** What writing, reading and asking have in common: the line, the way in, the identity, reading, the way out. */

/** An attempt's end by failure. Caught at the boundaries of `interpret.ts` and nowhere else. */
export class AttemptFailed extends Error {
  readonly code: WriteFailure
  /** The receiver or its documentation says no: asking again is no use. */
  readonly final: boolean
  constructor(code: WriteFailure, text: string, final = false) {
    super(text)
    this.name = 'AttemptFailed'
    this.code = code
    this.final = final
  }
}

const FINAL: readonly WriteFailure[] = ['no-line', 'not-supported', 'other-identity', 'refused']

export interface RunOptions {
  readonly dialect: Dialect
  readonly baud: number
  readonly image?: Uint8Array
  readonly fileName?: string
  readonly wordOctets?: number
}

export class DialectRun {
  readonly c: Context
  readonly speaker: Speaker
  readonly dialect: Dialect
  /** Something was said that the receiver may be waiting in the middle of. */
  entered = false
  identity: readonly IdentityField[] | undefined
  private readonly baud: number
  private attempt = 1

  constructor({ dialect, baud, image, fileName, wordOctets }: RunOptions) {
    this.dialect = dialect
    this.baud = baud
    this.c = new Context(image, fileName)
    this.speaker = new Speaker(dialect, baud, this.c, wordOctets)
  }

  *phase(phase: PhaseId): Procedure<void> {
    yield { do: 'say', event: { kind: 'phase', phase, attempt: this.attempt } }
  }

  *progress(done: number, total: number): Procedure<void> {
    yield { do: 'say', event: { kind: 'progress', done, total } }
  }

  *note(level: 'info' | 'good' | 'caution', text: string): Procedure<void> {
    yield { do: 'say', event: { kind: 'note', level, text } }
  }

  /** Opens the line and goes into the boot loader. */
  *enter(attempt: number): Procedure<void> {
    this.attempt = attempt
    this.speaker.isFirst = attempt === 1
    this.speaker.hasSent = false
    this.speaker.silence = 'no-answer'
    this.speaker.unheardMs = undefined
    this.c.captures.clear()
    yield* this.phase('enter')
    const { parity, stopBits } = this.dialect.line
    const opened = yield { do: 'line', baud: this.baud, parity, stopBits, power: true }
    if (opened.got === 'failed') {
      const text = `The port cannot be opened with ${this.baud} baud, 8 data bits, parity ${parity}, ${stopBits} stop bits.`
      throw new AttemptFailed('no-line', text, true)
    }
    if (opened.got === 'refused') throw new AttemptFailed('no-line', opened.text, true)
    this.entered = true
    yield* this.must(this.dialect.enter)
  }

  /** Asks who it is, where the dialect can. */
  *identify(): Procedure<readonly IdentityField[] | undefined> {
    const { identify } = this.dialect
    if (identify === undefined) return undefined
    yield* this.must(identify.steps)
    this.identity = identityFrom(this.dialect, this.c)
    return this.identity
  }

  /** Carries steps out; whatever does not go through ends the attempt. */
  *must(steps: readonly Step[], given?: Given): Procedure<void> {
    const went = yield* this.speaker.carryOut(steps, given)
    if (went.went !== 'ok') throw this.failureOf(went)
  }

  failureOf(went: Went): AttemptFailed {
    switch (went.went) {
      case 'stop':
        this.entered = false
        return new AttemptFailed('broken-off', `The receiver broke off (${went.text}).`)
      case 'refused':
        return new AttemptFailed('refused', sentence(went.text), true)
      case 'failed': {
        const code = went.code ?? 'lost-contact'
        return new AttemptFailed(code, sentence(went.text), FINAL.includes(code))
      }
      case 'again':
        return new AttemptFailed('lost-contact', `The receiver does not go on (${went.text}).`)
      default:
        if (went.went === 'nothing' && this.speaker.silence === 'no-answer' && this.speaker.unheardMs)
          return neverSpoke(this.speaker.unheardMs, this.speaker.isFirst)
        return new AttemptFailed(
          this.speaker.silence,
          this.speaker.silence === 'no-answer'
            ? 'The receiver does not answer.'
            : 'The receiver does not answer any more.',
        )
    }
  }

  /**
   * Reads so many octets from an address on.
   * @param each shown each part as it comes
   */
  *read(address: number, count: number, each: (part: Uint8Array, at: number) => void): Procedure<void> {
    const { read } = this.dialect
    if (read === undefined) throw new AttemptFailed('not-supported', 'This boot loader cannot be read.', true)
    for (let at = 0; at < count; at += read.octets) {
      const length = Math.min(read.octets, count - at)
      yield* this.readPart(address + at, length)
      each(this.c.received, at)
      yield* this.progress(at + length, count)
    }
  }

  *readPart(address: number, length: number): Procedure<void> {
    const { c } = this
    c.address = address
    c.offset = address - c.imageAddress
    c.length = length
    yield* this.must(this.dialect.read?.steps ?? [])
  }

  /** Tells the receiver that it is over; nothing is waited for but what the dialect says. */
  *leave(): Procedure<void> {
    if (!this.entered) return
    this.entered = false
    const { leave } = this.dialect
    // To one to whom nothing was said there is no good-bye: it would only look as if something had been begun.
    yield* this.speaker.carryOut(this.speaker.hasSent ? leave : leave.filter(step => step.do !== 'send'))
  }
}

/** Waiting once more for a receiver that has never spoken, as long again, would tell nothing new. */
const neverSpoke = (ms: number, isFirst: boolean): AttemptFailed =>
  new AttemptFailed(
    'no-answer',
    `${isFirst ? 'The receiver does not answer' : 'The receiver does not answer any more'}: it should speak first, and has said nothing in ${Math.round(ms / 1000)} s. Look whether it is on, plugged in and in its boot loader.`,
    true,
  )

const sentence = (text: string): string => {
  const first = text.charAt(0).toUpperCase() + text.slice(1)
  return /[.!?]$/.test(first) ? first : `${first}.`
}
