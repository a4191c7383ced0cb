import { type Captured, type Context, numberOf, saidAs } from './context.ts'
import type { Checks } from './encode.ts'
import type { Framer } from './frames.ts'
import { octetsOfHex, type Pattern, patternAt, patternOfHex } from './hex.ts'
import type { Dialect } from './schema.ts'
import type { AnswerPart, CapturePart, NumberPart } from './schema-parts.ts'
import type { ExpectStep, Meaning } from './schema-steps.ts'

/** One expectation, made ready once: looks at what has arrived and says what it was. */

export interface ReplyWords {
  readonly name: string
  readonly means: Meaning
  readonly text: string
  readonly pattern: Pattern
}

const PARTLY = -1
const NO = -2
/** So much that means nothing ends the waiting: a peer that babbles must not hold us. */
const MOST_SKIPPED = 16_384

type Pending = Map<string, Captured>
/** Reads one part; returns where it ends, PARTLY or NO. */
type Read = (octets: Uint8Array, at: number, end: number, c: Context, pending: Pending) => number

export class Answer {
  /** What came, once `until` has taken something. */
  reply: ReplyWords | undefined
  wrong = false
  private readonly replies: readonly ReplyWords[]
  private readonly reads: readonly Read[]
  private readonly step: ExpectStep
  private readonly framer: Framer | undefined
  private c: Context
  private from = 0
  private pending: Pending = new Map()
  private received: Uint8Array | undefined
  /** Where the part begins that did not fit, after a wrong answer. */
  failedAt = 0

  constructor(step: ExpectStep, dialect: Dialect, checks: Checks, framer: Framer | undefined, c: Context) {
    this.step = step
    this.c = c
    this.framer = step.bare ? undefined : framer
    this.replies = step.replies.map(name => {
      const { octets, means, text } = dialect.replies[name]
      return {
        name,
        means: step.as[name] ?? means,
        text: text ?? `it said ${octets}`,
        pattern: patternOfHex(octets),
      }
    })
    this.reads = step.parts.map(part => this.readerOf(part, checks))
  }

  begin(): void {
    this.reply = undefined
    this.wrong = false
    this.failedAt = 0
    this.from = 0
  }

  /** For the `receive` effect. */
  readonly until = (got: Uint8Array): number | false => {
    if (this.framer) return this.framer.find(got, this.acceptBody)
    for (; this.from < got.length; this.from++) {
      const end = this.at(got, this.from, got.length, false)
      if (end >= 0) return end
      if (end === PARTLY) return false
      if (!this.step.skipOthers || this.from > MOST_SKIPPED) {
        this.wrong = true
        return got.length
      }
    }
    return false
  }

  private readonly acceptBody = (body: Uint8Array): boolean =>
    this.at(body, 0, body.length, true) === body.length

  private at(octets: Uint8Array, from: number, end: number, whole: boolean): number {
    let partly = false
    for (const reply of this.replies) {
      const is = patternAt(reply.pattern, octets, from)
      const to = from + reply.pattern.octets.length
      if (is === 'yes' && (!whole || to === end || reply.pattern.open)) {
        this.take(reply, octets[from])
        return whole ? end : to
      }
      if (is === 'partly') partly = true
    }
    if (this.reads.length === 0) return partly && !whole ? PARTLY : NO
    const to = this.parts(octets, from, end)
    if (to === NO && partly && !whole) return PARTLY
    return whole && to !== end ? NO : to
  }

  private parts(octets: Uint8Array, from: number, end: number): number {
    this.pending.clear()
    this.received = undefined
    let at = from
    for (const read of this.reads) {
      this.failedAt = at
      at = read(octets, at, end, this.c, this.pending)
      if (at < 0) return at
    }
    for (const [name, captured] of this.pending) this.c.captures.set(name, captured)
    if (this.received) this.c.received = this.received
    return at
  }

  private take(reply: ReplyWords, first: number): void {
    this.reply = reply
    const { capture } = this.step
    if (capture !== undefined) this.c.captures.set(capture, { value: first, octets: Uint8Array.of(first) })
  }

  /** How many octets the answer has at the most, for the time that they take on the line. */
  expectedOctets(): number {
    let count = this.step.replies.length > 0 ? 4 : 0
    for (const part of this.step.parts) {
      if (part.part === 'data') count += this.c.length
      else if (part.part === 'octets') count += part.hex.length / 2
      else if (part.part === 'capture') count += part.size ?? 64
      else count += 4
    }
    return count
  }

  private readerOf(part: AnswerPart, checks: Checks): Read {
    switch (part.part) {
      case 'octets':
        return readFixed(octetsOfHex(part.hex))
      case 'number':
        return readNumber(part, checks)
      case 'data':
        return (octets, at, end, c) => {
          if (end - at < c.length) return PARTLY
          this.received = octets.slice(at, at + c.length)
          return at + c.length
        }
      case 'check': {
        const check = checks.get(part.use)
        return (octets, at, end) => {
          const size = check?.octets ?? 0
          if (end - at < size) return PARTLY
          const stated = numberOf(octets.subarray(at, at + size), check?.order)
          return check?.of(octets, this.framer ? 0 : this.from, at) === stated ? at + size : NO
        }
      }
      case 'capture':
        return readCapture(part)
    }
  }
}

const readFixed =
  (wanted: Uint8Array): Read =>
  (octets, at, end) => {
    for (let i = 0; i < wanted.length; i++) {
      if (at + i >= end) return PARTLY
      if (octets[at + i] !== wanted[i]) return NO
    }
    return at + wanted.length
  }

/** A number that is known already: it has to be that one. */
function readNumber(part: NumberPart, checks: Checks): Read {
  const check = part.check === undefined ? undefined : checks.get(part.check)
  return (octets, at, end, c) => {
    if (end - at < part.size) return PARTLY
    const said = numberOf(octets.subarray(at, at + part.size), part.order)
    return said === saidAs(c.number(part.of, check), part) ? at + part.size : NO
  }
}

/** The most that one capture takes: a length from outside is never trusted further. */
const MOST_CAPTURED = 256

function readCapture({ name, size, order, length }: CapturePart): Read {
  return (octets, at, end, c, pending) => {
    const count = size ?? lengthOf(length, c, pending)
    if (count < 0 || count > MOST_CAPTURED) return NO
    if (end - at < count) return PARTLY
    const taken = octets.slice(at, at + count)
    pending.set(name, { value: numberOf(taken.subarray(-4), order), octets: taken })
    return at + count
  }
}

function lengthOf(length: CapturePart['length'], c: Context, pending: Pending): number {
  if (length === undefined) return NO
  const captured = length.of.startsWith('capture:') ? pending.get(length.of.slice(8)) : undefined
  const value = captured?.value ?? c.number(length.of)
  return Number.isNaN(value) ? NO : value + length.plus
}
