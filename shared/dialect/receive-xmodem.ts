import type { Procedure } from '../procedure/effects.ts'
import { CAN, type Came, XmodemEar } from './xmodem-ear.ts'

/**
 * The receiving end of XMODEM and YMODEM, as C. Forsberg (ed.), XMODEM/YMODEM Protocol Reference, 18 June 1988, has
 * it; section numbers are of that. For tests against other senders, and for reading what a peer sends.
 */

const ACK = 0x06
const NAK = 0x15
const CRC_PLEASE = 0x43

export interface ReceivePlan {
  readonly protocol: 'xmodem' | 'ymodem'
  /** Section 8: C asks for a CRC, NAK for the one-octet sum. YMODEM is always `crc`. */
  readonly check: 'crc' | 'sum'
  readonly baud: number
  /** The most that is taken, in octets; a sender that goes on is cancelled. */
  readonly mostOctets: number
  /** Section 7.3.2: 10 s between blocks and 1 s inside one; 8.2.1: 3 s a C. Shorter where given. */
  readonly betweenMs?: number
  readonly insideMs?: number
  readonly pollMs?: number
  /** Say NAK to the first EOT, as the figures of section 5 show; some receivers do, others do not. */
  readonly nakFirstEot?: boolean
}

export interface ReceivedFile {
  /** Undefined for XMODEM, which says no name. */
  readonly name: string | undefined
  /** Cut to the length that was stated; with the padding where none was. */
  readonly octets: Uint8Array
}
export type ReceiveEnd =
  | { readonly ended: 'done'; readonly files: readonly ReceivedFile[]; readonly repeats: number }
  | { readonly ended: 'failed'; readonly text: string; readonly repeats: number }

/** Section 7.3.1. */
const MOST_TRIES = 10
const MOST_FILES = 64

/** @returns how it ended; never throws what a sender or a line can cause */
export function* receiveByXmodem(plan: ReceivePlan): Procedure<ReceiveEnd> {
  const receiver = new Receiver(plan)
  let ended = false
  try {
    const end = yield* receiver.session()
    ended = end.ended === 'done'
    return end
  } finally {
    if (!ended) yield { do: 'send', octets: new Uint8Array(8).fill(CAN) }
  }
}

class Receiver {
  private readonly plan: ReceivePlan
  private repeats = 0
  private readonly crc: boolean
  private readonly ear: XmodemEar
  private why = 'The sender sent more files than are taken.'

  constructor(plan: ReceivePlan) {
    const { baud, insideMs } = plan
    this.plan = plan
    this.crc = plan.protocol === 'ymodem' || plan.check === 'crc'
    this.ear = new XmodemEar({ crc: this.crc, baud, insideMs })
  }

  *session(): Procedure<ReceiveEnd> {
    yield { do: 'line', baud: this.plan.baud, parity: 'none', stopBits: 1 }
    const files: ReceivedFile[] = []
    if (this.plan.protocol === 'xmodem') {
      const octets = yield* this.file(1)
      return octets === undefined ? this.failed() : this.done([{ name: undefined, octets }])
    }
    for (let i = 0; i < MOST_FILES; i++) {
      const header = yield* this.header()
      if (header === undefined) return this.failed()
      if (header[0] === 0) return this.done(files)
      const { name, length } = namesOf(header)
      const octets = yield* this.file(1)
      if (octets === undefined) return this.failed()
      if (length !== undefined && octets.length < length) {
        this.why = `Only ${octets.length} of ${length} octets came.`
        return this.failed()
      }
      files.push({ name, octets: length === undefined ? octets : octets.subarray(0, length) })
    }
    return this.failed()
  }

  private done(files: readonly ReceivedFile[]): ReceiveEnd {
    return { ended: 'done', files, repeats: this.repeats }
  }

  private failed(): ReceiveEnd {
    return { ended: 'failed', text: this.why, repeats: this.repeats }
  }

  private *say(octet: number): Procedure<void> {
    yield { do: 'send', octets: Uint8Array.of(octet) }
  }

  /** Asks for a block 0 until a sound one comes. */
  private *header(): Procedure<Uint8Array | undefined> {
    const first = yield* this.first()
    if (first === undefined) return undefined
    if (first.came === 'block' && first.number === 0) {
      yield* this.say(ACK)
      return first.data
    }
    this.why = 'The sender did not begin with a file name.'
    return undefined
  }

  /** Section 7.3.2 and 8.2: asks, until the first block has come. */
  private *first(): Procedure<Came | undefined> {
    for (let tries = 0; tries < MOST_TRIES; tries++) {
      yield* this.say(this.crc ? CRC_PLEASE : NAK)
      const came = yield* this.ear.next(this.plan.pollMs ?? 3000)
      if (came.came === 'block') return came
      if (came.came === 'cancel') return this.cancelled()
      if (came.came === 'end') return came
      this.repeats++
    }
    this.why = 'No sender answered.'
    return undefined
  }

  private cancelled(): undefined {
    this.why = 'The sender cancelled.'
    return undefined
  }

  /** @returns the data of all blocks, or undefined where it came to nothing */
  private *file(firstNumber: number): Procedure<Uint8Array | undefined> {
    const parts: Uint8Array[] = []
    let length = 0
    let expected = firstNumber
    let bad = 0
    let ends = 0
    let came = yield* this.first()
    while (came !== undefined) {
      if (came.came === 'cancel') return this.cancelled()
      if (came.came === 'end') {
        if (this.plan.nakFirstEot !== true || ends > 0) {
          yield* this.say(ACK)
          return joined(parts, length)
        }
        ends++
        yield* this.say(NAK)
      } else if (came.came === 'block') {
        bad = 0
        if (came.number === expected) {
          length += came.data.length
          if (length > this.plan.mostOctets) return this.tooMuch()
          parts.push(came.data)
          expected = (expected + 1) & 0xff
          yield* this.say(ACK)
        } else if (came.number === ((expected - 1) & 0xff)) yield* this.say(ACK)
        else return this.outOfStep()
      } else {
        if (++bad > MOST_TRIES) break
        this.repeats++
        yield* this.say(NAK)
      }
      came = yield* this.ear.next(this.plan.betweenMs ?? 10_000)
    }
    if (came !== undefined) this.why = 'The sender fell silent, or nothing sound came any more.'
    return undefined
  }

  private tooMuch(): undefined {
    this.why = `The sender sends more than ${this.plan.mostOctets} octets.`
    return undefined
  }

  private outOfStep(): undefined {
    this.why = 'A block came out of its turn: some are missing.'
    return undefined
  }
}

function joined(parts: readonly Uint8Array[], length: number): Uint8Array {
  const all = new Uint8Array(length)
  let at = 0
  for (const part of parts) {
    all.set(part, at)
    at += part.length
  }
  return all
}

/** Section 5: name, NUL, and the length in decimal as the first of the fields that may follow. */
function namesOf(header: Uint8Array): { name: string; length: number | undefined } {
  const end = header.indexOf(0)
  const name = String.fromCharCode(...header.subarray(0, end < 0 ? header.length : end))
  const fields = end < 0 ? '' : String.fromCharCode(...header.subarray(end + 1))
  const stated = /^(\d{1,10})/.exec(fields)
  return { name, length: stated ? Number(stated[1]) : undefined }
}
