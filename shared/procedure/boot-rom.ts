import type { FlashLayout } from '../model/catalogue.ts'
import type { PhaseId } from '../sim/trace.ts'
import { readBackFound } from './again-words.ts'
import { COMMAND, ERASE_MOST_PAGES, MAX_BLOCK } from './an3155.ts'
import { BootRomHost, type HostTiming, type LoaderFacts, type Reply } from './boot-rom-host.ts'
import {
  type Asked,
  ERASE,
  GET,
  GET_ID,
  HELLO,
  inVainText,
  isLock,
  type NotOk,
  READ,
  repeatText,
} from './boot-rom-words.ts'
import type { FailureCode, Procedure } from './effects.ts'

/**
 * Writing a part of a chip's flash through the loader in its ROM (ST AN3155): connect, ask what it can do and which
 * chip it is, erase the pages, write, read everything back, start it. What went wrong on the line is repeated; where
 * that does not help, the whole is done again from the connection on, erase included. What the chip refuses for good
 * is said plainly and not tried again.
 */
export interface BootRomPlan {
  /** 1200 to 115200. */
  readonly baud: number
  /** Where the octets go, and the pages that they lie in, numbered from the start of the chip's flash. */
  readonly address: number
  readonly octets: Uint8Array
  readonly pages: readonly number[]
  /** Where to start the chip when all is written; undefined leaves it in its loader. */
  readonly startAt: number | undefined
  /** The identifier that Get ID must name, where it is known. */
  readonly chipId: number | undefined
  /** Blocks are filled up with FF to a multiple of this; 2 or 4, depending on the product, and 8 for wide flash. */
  readonly writeMultiple: number
  readonly timing: HostTiming
  /** How often the first octet is said, each command is said, and the whole is done, at the most. */
  readonly connectTries: number
  readonly tries: number
  readonly attempts: number
}

export type BootRomFailure =
  | 'no-line'
  | 'no-answer'
  | 'lost-contact'
  | 'read-out-protected'
  | 'refused'
  | 'not-supported'
  | 'other-chip'
  | 'verify-differs'

interface Tally {
  readonly attempts: number
  readonly retries: number
}
export interface BootRomDone extends Tally {
  readonly ended: 'done'
  readonly loader: LoaderFacts
  readonly chipId: number
  /** False where the chip did not answer to Go, or was not asked: switching it off and on starts it. */
  readonly started: boolean
}
export interface BootRomFailed extends Tally {
  readonly ended: 'failed'
  readonly code: BootRomFailure
  readonly text: string
}
export type BootRomResult = BootRomDone | BootRomFailed

/** The octets of one command's longest part: count, 256 data, checksum. */
const LONGEST_CHARACTERS = MAX_BLOCK + 2
const BITS_8E1 = 11
const MARGIN_MS = 10
/** Pages in one command: few enough that a lost answer costs little. */
const ERASE_BATCH = 16

/** @param latencyMs extra delay that the adapter adds to each answer */
export function bootRomTiming(baud: number, flash: FlashLayout, latencyMs: number): HostTiming {
  return {
    answerMs: (LONGEST_CHARACTERS * BITS_8E1 * 1000) / baud + latencyMs + MARGIN_MS,
    programMs: (MAX_BLOCK / flash.wordBytes) * (flash.programMicros.most / 1000),
    erasePageMs: flash.eraseMs.most,
    octetMs: (4 * BITS_8E1 * 1000) / baud + latencyMs + MARGIN_MS / 5,
  }
}

/** An attempt's end by failure. Caught in `writeThroughBootRom` and nowhere else. */
class AttemptFailed extends Error {
  readonly code: BootRomFailure
  constructor(code: BootRomFailure, text: string) {
    super(text)
    this.name = 'AttemptFailed'
    this.code = code
  }
}

const WORTH_ANOTHER_TRY: readonly BootRomFailure[] = ['lost-contact', 'refused', 'verify-differs']
const eventCodes: Readonly<Record<BootRomFailure, FailureCode>> = {
  'no-line': 'no-answer',
  'no-answer': 'no-answer',
  'lost-contact': 'lost-contact',
  'read-out-protected': 'refused',
  refused: 'refused',
  'not-supported': 'refused',
  'other-chip': 'refused',
  'verify-differs': 'verify-differs',
}

/**
 * @returns how it ended; never throws what a chip or a line can cause
 * @throws ProblemError for addresses, pages or blocks that the protocol cannot carry
 */
export function* writeThroughBootRom(plan: BootRomPlan): Procedure<BootRomResult> {
  const run = new BootRomRun(plan)
  for (let attempt = 1; ; attempt++) {
    try {
      return yield* run.attempt(attempt)
    } catch (error) {
      if (!(error instanceof AttemptFailed)) throw error
      const { code, message: text } = error
      yield { do: 'say', event: { kind: 'attempt-failed', attempt, code: eventCodes[code], text } }
      if (attempt >= plan.attempts || !WORTH_ANOTHER_TRY.includes(code))
        return { ended: 'failed', code, text, attempts: attempt, retries: run.retries + attempt - 1 }
    }
  }
}

class BootRomRun {
  retries = 0
  private attemptNumber = 1
  private readonly plan: BootRomPlan
  private readonly host: BootRomHost

  constructor(plan: BootRomPlan) {
    this.plan = plan
    this.host = new BootRomHost(plan.timing)
  }

  *attempt(attempt: number): Procedure<BootRomDone> {
    this.attemptNumber = attempt
    yield* this.connect()
    yield* this.phase('identify')
    const loader = yield* this.must(GET, () => this.host.get())
    const chipId = yield* this.must(GET_ID, () => this.host.getId())
    this.checkChip(chipId)
    yield* this.erase(loader)
    yield* this.write()
    yield* this.verify()
    const started = yield* this.start()
    return { ended: 'done', loader, chipId, started, attempts: attempt, retries: this.retries + attempt - 1 }
  }

  private *connect(): Procedure<void> {
    yield* this.phase('enter')
    const { baud, connectTries } = this.plan
    const opened = yield { do: 'line', baud, parity: 'even', power: true }
    if (opened.got === 'failed' || opened.got === 'refused')
      throw new AttemptFailed(
        'no-line',
        `The port cannot be opened with ${baud} baud, 8 data bits, even parity, 1 stop bit.`,
      )
    let last: NotOk | undefined
    for (let tries = 1; tries <= connectTries; tries++) {
      if (last) yield* this.sayRetry(HELLO, last, tries, connectTries)
      const reply = yield* this.host.connect()
      if (reply.got === 'ok') return
      last = reply
    }
    throw new AttemptFailed(
      'no-answer',
      "The chip's own loader does not answer. Its boot pin must be held while power comes on.",
    )
  }

  private checkChip(chipId: number): void {
    const wanted = this.plan.chipId
    if (wanted === undefined || chipId === wanted) return
    const hex = (id: number) => id.toString(16).toUpperCase()
    throw new AttemptFailed(
      'other-chip',
      `This is another chip: it names itself ${hex(chipId)}, expected ${hex(wanted)}. Nothing was written.`,
    )
  }

  private *erase({ commands }: LoaderFacts): Procedure<void> {
    yield* this.phase('erase')
    const { pages } = this.plan
    const code = [COMMAND.erase, COMMAND.extendedErase].find(c => commands.includes(c))
    if (code === undefined)
      throw new AttemptFailed('not-supported', "The chip's own loader has no command to erase pages.")
    if (code === COMMAND.erase && pages.some(page => page >= ERASE_MOST_PAGES))
      throw new AttemptFailed('not-supported', "The chip's own loader cannot erase pages from 256 on.")
    for (let i = 0; i < pages.length; i += ERASE_BATCH) {
      const batch = pages.slice(i, i + ERASE_BATCH)
      // An octet for filling up may be taken for a page: then let it be one that is to be erased anyway.
      const filler = code === COMMAND.erase ? batch[0] : undefined
      yield* this.must(ERASE, () => this.host.erase(code, batch), filler)
      yield* this.progress(i + batch.length, pages.length)
    }
  }

  private *write(): Procedure<void> {
    yield* this.phase('write')
    const { octets, address, writeMultiple } = this.plan
    for (let at = 0; at < octets.length; at += MAX_BLOCK) {
      const part = octets.subarray(at, at + MAX_BLOCK)
      const block = new Uint8Array(Math.ceil(part.length / writeMultiple) * writeMultiple).fill(0xff)
      block.set(part)
      yield* this.writeBlock(address + at, block, `block ${at / MAX_BLOCK + 1}`)
      yield* this.progress(at + part.length, octets.length)
    }
  }

  /** A repeat may find the block written and only the answer lost; written flash must not be written again. */
  private *writeBlock(address: number, block: Uint8Array, name: string): Procedure<void> {
    const { host } = this
    let repeat = false
    yield* this.must({ command: 'Write Memory', name, isLookedAt: true }, function* (): Procedure<
      Reply<void>
    > {
      if (repeat) {
        const there = yield* host.read(address, block.length)
        if (there.got !== 'ok') return there
        const found = same(there.value, block) ? 'is-done' : 'say-again'
        yield { do: 'say', event: { kind: 'note', level: 'info', text: readBackFound(name, found) } }
        if (found === 'is-done') return { got: 'ok', value: undefined }
      }
      repeat = true
      return yield* host.write(address, block)
    })
  }

  private *verify(): Procedure<void> {
    yield* this.phase('verify')
    const { octets, address } = this.plan
    for (let at = 0; at < octets.length; at += MAX_BLOCK) {
      const wanted = octets.subarray(at, at + MAX_BLOCK)
      const there = yield* this.must(READ, () => this.host.read(address + at, wanted.length))
      if (!same(there, wanted))
        throw new AttemptFailed('verify-differs', 'What was read back is not what was written.')
      yield* this.progress(at + wanted.length, octets.length)
    }
  }

  /** All is written and proven by now: a chip that does not start by itself starts with the next power-up. */
  private *start(): Procedure<boolean> {
    const { startAt } = this.plan
    if (startAt === undefined) return false
    yield* this.phase('restart')
    const reply = yield* this.host.go(startAt)
    return reply.got === 'ok'
  }

  private *phase(phase: PhaseId): Procedure<void> {
    yield { do: 'say', event: { kind: 'phase', phase, attempt: this.attemptNumber } }
  }

  private *progress(done: number, total: number): Procedure<void> {
    yield { do: 'say', event: { kind: 'progress', done, total } }
  }

  private *sayRetry(asked: Asked, last: NotOk, tries: number, most: number): Procedure<void> {
    this.retries++
    const text = repeatText(asked, last, tries, most)
    yield { do: 'say', event: { kind: 'retry', what: asked.command, tries, text } }
  }

  /** Says a command until it goes through; after silence the chip is first brought back to waiting for one. */
  private *must<T>(asked: Asked, say: () => Procedure<Reply<T>>, filler?: number): Procedure<T> {
    let last: NotOk | undefined
    for (let tries = 1; ; tries++) {
      if (last) yield* this.sayRetry(asked, last, tries, this.plan.tries)
      const reply = yield* say()
      if (reply.got === 'ok') return reply.value
      last = reply
      const silent = reply.got !== 'nack' && !(yield* this.host.resynchronise(filler))
      if (silent || tries >= this.plan.tries) throw failureOf(asked, reply)
    }
  }
}

function failureOf(asked: Asked, reply: NotOk): AttemptFailed {
  const code = reply.got !== 'nack' ? 'lost-contact' : isLock(asked, reply) ? 'read-out-protected' : 'refused'
  return new AttemptFailed(code, inVainText(asked, reply))
}

function same(a: Uint8Array, b: Uint8Array): boolean {
  return a.length === b.length && a.every((octet, i) => octet === b[i])
}
