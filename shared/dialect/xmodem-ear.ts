import type { Procedure } from '../procedure/effects.ts'
import { CATALOGUE, crcOf } from './checksums.ts'

/** What the receiving end of XMODEM and YMODEM hears; sections are of the reference that `receive-xmodem.ts` names. */

const SOH = 0x01
const STX = 0x02
const EOT = 0x04
export const CAN = 0x18
/** The longest block there is: head, 1024 octets, CRC. */
const MOST_OCTETS = 1029
/** A sender that babbles on is not waited for without end. */
const MOST_PURGES = 2000
const crc16 = crcOf(CATALOGUE['CRC-16/XMODEM'])

/** A sound block, a damaged one, the end, the other end's cancel, or nothing in time. */
export type Came =
  | { readonly came: 'block'; readonly number: number; readonly data: Uint8Array }
  | { readonly came: 'damaged' | 'end' | 'cancel' | 'nothing' }

export interface EarOptions {
  /** A CRC behind each block; otherwise the one-octet sum. */
  readonly crc: boolean
  readonly baud: number
  /** Section 7.3.2: 1 s inside a block. Shorter where given. */
  readonly insideMs?: number | undefined
}

/** Hears one thing after another: blocks, and what ends them. */
export class XmodemEar {
  private readonly o: EarOptions
  private came: Came = { came: 'nothing' }
  /** Something has begun to arrive that is not whole yet. */
  private part = false

  constructor(options: EarOptions) {
    this.o = options
  }

  /**
   * The next thing that comes. Section 7.4: after something damaged it waits until the line is quiet.
   * @param timeoutMs until it begins; the time of a block on the line is added
   */
  *next(timeoutMs: number): Procedure<Came> {
    const blockMs = (MOST_OCTETS * 10_000) / this.o.baud
    const result = yield { do: 'receive', until: this.until, timeoutMs: timeoutMs + blockMs }
    if (result.got !== 'octets')
      return { came: result.got === 'timeout' && this.part ? yield* this.purge() : 'nothing' }
    if (this.came.came === 'damaged') return { came: yield* this.purge() }
    return this.came
  }

  private *purge(): Procedure<'damaged'> {
    const takeAll = (got: Uint8Array) => (got.length > 0 ? got.length : (false as const))
    for (let i = 0; i < MOST_PURGES; i++) {
      const more = yield { do: 'receive', until: takeAll, timeoutMs: this.o.insideMs ?? 1000 }
      if (more.got !== 'octets') break
    }
    return 'damaged'
  }

  private readonly until = (got: Uint8Array): number | false => {
    this.part = got.length > 0
    const took = this.look(got)
    if (took !== false) this.part = false
    return took
  }

  private look(got: Uint8Array): number | false {
    const first = got[0]
    if (first === EOT) return this.take({ came: 'end' }, 1)
    if (first === CAN)
      return got.length < 2 ? false : this.take({ came: got[1] === CAN ? 'cancel' : 'damaged' }, 2)
    if (first !== SOH && first !== STX) return this.take({ came: 'damaged' }, got.length)
    const size = first === SOH ? 128 : 1024
    const end = 3 + size + (this.o.crc ? 2 : 1)
    if (got.length < end) return false
    const data = got.slice(3, 3 + size)
    const sound = got[1] === (got[2] ^ 0xff) && this.checkOf(data) === this.stated(got, 3 + size)
    return this.take(sound ? { came: 'block', number: got[1], data } : { came: 'damaged' }, end)
  }

  private take(came: Came, octets: number): number {
    this.came = came
    return octets
  }

  private checkOf(data: Uint8Array): number {
    return this.o.crc ? crc16(data) : data.reduce((sum, octet) => (sum + octet) & 0xff, 0)
  }

  private stated(got: Uint8Array, at: number): number {
    return this.o.crc ? (got[at] << 8) | got[at + 1] : got[at]
  }
}
