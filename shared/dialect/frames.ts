import { encodeFrame, FrameDecoder, maxEncodedLength, SHORTEST_BODY } from '../wire/hdlc.ts'
import type { Check } from './checksums.ts'
import { numberOf, putNumber } from './context.ts'
import type { Checks } from './encode.ts'
import { octetsOfHex } from './hex.ts'
import type { Dialect, FrameSpec } from './schema.ts'

/** The outer frame of a dialect: put around what is sent, taken off what comes. */
export interface Framer {
  /** @param body 2 octets or more for RFC 1662 */
  wrap(body: Uint8Array): Uint8Array
  /**
   * Shows each whole, undamaged frame body to `accept` until one is taken.
   * @returns how many octets are done with then, or false where none was taken
   */
  find(got: Uint8Array, accept: (body: Uint8Array) => boolean): number | false
}

/** RFC 1662, section 3.1: the default maximum receive unit, in octets. */
const LEAST_MOST_BODY = 1500
/** What a block has around it, in octets. */
const AROUND_A_BLOCK = 64

/** @param mostBody the longest frame body, in octets */
export function framerOf(spec: FrameSpec, checks: Checks, mostBody: number): Framer {
  return spec.kind === 'rfc1662' ? new StuffedFramer(mostBody) : new LengthFramer(spec, checks)
}

/** @returns undefined where the dialect has no outer frame */
export const framerFor = ({ frame, block }: Pick<Dialect, 'frame' | 'block'>, checks: Checks) =>
  frame && framerOf(frame, checks, Math.max(LEAST_MOST_BODY, block.octets + AROUND_A_BLOCK))

class StuffedFramer implements Framer {
  private readonly decoder: FrameDecoder

  constructor(mostBody: number) {
    this.decoder = new FrameDecoder(mostBody)
  }

  wrap(body: Uint8Array): Uint8Array {
    // Shorter bodies than RFC 1662 knows are refused when a dialect is read; should one come up even so, it is filled up.
    const length = Math.max(SHORTEST_BODY, body.length)
    const whole = new Uint8Array(length)
    whole.set(body)
    const frame = new Uint8Array(maxEncodedLength(length))
    return frame.subarray(0, encodeFrame(whole, length, frame, 0))
  }

  find(got: Uint8Array, accept: (body: Uint8Array) => boolean): number | false {
    let end: number | false = false
    this.decoder.reset()
    this.decoder.push(got, 0, got.length, (body, length, _start, endIndex) => {
      if (end === false && accept(body.slice(0, length))) end = endIndex
    })
    return end
  }
}

type LengthFrame = Extract<FrameSpec, { kind: 'start-length' }>

class LengthFramer implements Framer {
  private readonly start: Uint8Array
  private readonly spec: LengthFrame
  private readonly check: Check | undefined

  constructor(spec: LengthFrame, checks: Checks) {
    this.start = octetsOfHex(spec.start)
    this.spec = spec
    this.check = spec.check && checks.get(spec.check.use)
  }

  wrap(body: Uint8Array): Uint8Array {
    const { size, order, plus } = this.spec.length
    const head = this.start.length + size
    const frame = new Uint8Array(head + body.length + (this.check?.octets ?? 0))
    frame.set(this.start)
    putNumber(frame, this.start.length, body.length + plus, size, order)
    frame.set(body, head)
    if (this.check)
      putNumber(
        frame,
        head + body.length,
        this.over(frame, 0, head + body.length),
        this.check.octets,
        this.check.order,
      )
    return frame
  }

  find(got: Uint8Array, accept: (body: Uint8Array) => boolean): number | false {
    for (let at = 0; at + this.start.length < got.length; at++) {
      const end = this.frameAt(got, at)
      if (end === false) continue
      const body = got.slice(at + this.start.length + this.spec.length.size, end - (this.check?.octets ?? 0))
      if (accept(body)) return end
      at = end - 1
    }
    return false
  }

  /** @returns where the whole frame that begins here ends, or false where none does */
  private frameAt(got: Uint8Array, at: number): number | false {
    for (let i = 0; i < this.start.length; i++) if (got[at + i] !== this.start[i]) return false
    const { size, order, plus } = this.spec.length
    const head = at + this.start.length + size
    if (head > got.length) return false
    const length = numberOf(got.subarray(head - size, head), order) - plus
    const checkOctets = this.check?.octets ?? 0
    const end = head + length + checkOctets
    if (length < 1 || length > this.spec.mostBody || end > got.length) return false
    if (this.check === undefined) return end
    const stated = numberOf(got.subarray(end - checkOctets, end), this.check.order)
    return this.over(got, at, end - checkOctets) === stated ? end : false
  }

  private over(frame: Uint8Array, at: number, to: number): number {
    const { over } = this.spec.check ?? { over: 'body' }
    const { size } = this.spec.length
    const from = over === 'all' ? at : at + this.start.length + (over === 'body' ? size : 0)
    return this.check?.of(frame, from, to) ?? 0
  }
}
