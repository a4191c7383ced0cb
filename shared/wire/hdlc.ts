import { FCS16_GOOD, FCS16_INIT, fcs16Octet } from './checksum.ts'

/**
 * RFC 1662 octet-stuffed framing with FCS-16: flag, stuffed body and FCS (low octet first), flag. Address and
 * control fields are the business of whoever fills the body. Section numbers below are those of RFC 1662.
 */

export const FLAG = 0x7e
export const ESCAPE = 0x7d
/** What an escaped octet is combined with by exclusive-or (section 4.2). */
export const ESCAPE_BIT = 0x20
/** Section 4.3: with FCS-16 a frame has four octets or more, so a body has two or more. */
export const SHORTEST_BODY = 2
/** The default maximum receive unit of PPP, RFC 1661 section 6.1. */
export const DEFAULT_LONGEST_BODY = 1500

/** Octets that encodeFrame writes at most: every octet of body and FCS stuffed, two flags. */
export const maxEncodedLength = (bodyLength: number): number => 2 * (bodyLength + 2) + 2

/**
 * Writes one frame without allocating.
 * @param body its first `bodyLength` octets are framed; two or more (section 4.3)
 * @param out takes the frame from `outOffset`; maxEncodedLength(bodyLength) octets are always enough
 * @param accm bit n set: octet n (0..31) is sent escaped (section 7.1); 0 escapes only flag and escape
 * @returns octets written
 * @throws RangeError when the body is too short or `out` too small
 */
export function encodeFrame(
  body: Uint8Array,
  bodyLength: number,
  out: Uint8Array,
  outOffset: number,
  accm = 0,
): number {
  if (bodyLength < SHORTEST_BODY || bodyLength > body.length)
    throw new RangeError(`a frame body of ${bodyLength} octets cannot be framed`)
  let at = outOffset
  let fcs = FCS16_INIT
  out[at++] = FLAG
  for (let i = 0; i < bodyLength; i++) {
    const octet = body[i]
    fcs = fcs16Octet(fcs, octet)
    if (octet === FLAG || octet === ESCAPE || (octet < 0x20 && ((accm >>> octet) & 1) !== 0)) {
      out[at++] = ESCAPE
      out[at++] = octet ^ ESCAPE_BIT
    } else out[at++] = octet
  }
  at = putStuffed(out, at, ~fcs & 0xff, accm)
  at = putStuffed(out, at, (~fcs >>> 8) & 0xff, accm)
  out[at++] = FLAG
  // Writes past the end of a typed array vanish without a word, so the end is looked at once, here.
  if (at > out.length) throw new RangeError(`the frame needs ${at - outOffset} octets of room`)
  return at - outOffset
}

function putStuffed(out: Uint8Array, at: number, octet: number, accm: number): number {
  if (octet === FLAG || octet === ESCAPE || (octet < 0x20 && ((accm >>> octet) & 1) !== 0)) {
    out[at] = ESCAPE
    out[at + 1] = octet ^ ESCAPE_BIT
    return at + 2
  }
  out[at] = octet
  return at + 1
}

/**
 * Why octets were no frame. `no-flag`: octets before the first flag, or a flag missing; `aborted`: an escape right
 * before the flag (section 4.3).
 */
export type SpoiltReason = 'no-flag' | 'too-short' | 'too-long' | 'bad-fcs' | 'aborted'

/**
 * @param body holds the frame's body in its first `length` octets, until the call returns
 * @param startIndex position in the stream of the opening flag
 * @param endIndex position right after the closing flag
 */
export type OnFrame = (body: Uint8Array, length: number, startIndex: number, endIndex: number) => void
export type OnSpoilt = (reason: SpoiltReason, startIndex: number, endIndex: number) => void

const HUNTING = 0
const INSIDE = 1
const ESCAPED = 2
/** More octets than the longest body: the rest is skipped up to the next flag. */
const OVERFLOWED = 3

/**
 * Takes frames out of a stream of octets that comes in pieces. Nothing is allocated after construction. Positions
 * count every octet since construction or the last reset; a flag that closes a frame opens the next one. Empty
 * frames (a flag after a flag) are passed over in silence, as section 3.1 wants it.
 */
export class FrameDecoder {
  private readonly buffer: Uint8Array
  private state = HUNTING
  private length = 0
  private fcs = FCS16_INIT
  /** Position of the opening flag. */
  private start = 0
  private at = 0
  private readonly receiveAccm: number

  /**
   * @param longestBody octets of body that are accepted at most, 2 or more
   * @param receiveAccm octets below 0x20 whose bit is set are dropped when they come unescaped (section 4.2)
   */
  constructor(longestBody = DEFAULT_LONGEST_BODY, receiveAccm = 0) {
    if (!Number.isInteger(longestBody) || longestBody < SHORTEST_BODY)
      throw new RangeError(`a longest body of ${longestBody} octets`)
    this.buffer = new Uint8Array(longestBody + 2)
    this.receiveAccm = receiveAccm
  }

  /** Position in the stream of the octet that comes next. */
  get position(): number {
    return this.at
  }

  /** True between an opening flag with something after it and the closing one. */
  get insideFrame(): boolean {
    return this.state !== HUNTING && this.at > this.start + 1
  }

  /** Forgets what has come so far and looks for a flag again. */
  reset(position = 0): void {
    this.state = HUNTING
    this.length = 0
    this.fcs = FCS16_INIT
    this.at = position
    this.start = position
  }

  /** Takes octets `from` up to but not including `to`, and calls back for each flag that ends something. */
  push(octets: Uint8Array, from: number, to: number, onFrame: OnFrame, onSpoilt?: OnSpoilt): void {
    const { buffer, receiveAccm } = this
    const room = buffer.length
    // Kept in locals between flags: this loop runs for every octet of every simulated byte stream.
    let { state, length, fcs } = this
    let taken = from
    for (let i = from; i < to; i++) {
      const octet = octets[i]
      if (octet === FLAG) {
        this.state = state
        this.length = length
        this.fcs = fcs
        this.at += i + 1 - taken
        taken = i + 1
        this.endAtFlag(onFrame, onSpoilt)
        state = this.state
        length = this.length
        fcs = this.fcs
      } else if (state === HUNTING || state === OVERFLOWED) {
        // passed over up to the next flag
      } else if (octet < 0x20 && ((receiveAccm >>> octet) & 1) !== 0) {
        // slipped in by equipment on the way (section 4.2)
      } else if (octet === ESCAPE && state === INSIDE) state = ESCAPED
      else if (length === room) state = OVERFLOWED
      else {
        const plain = state === ESCAPED ? octet ^ ESCAPE_BIT : octet
        state = INSIDE
        buffer[length++] = plain
        fcs = fcs16Octet(fcs, plain)
      }
    }
    this.state = state
    this.length = length
    this.fcs = fcs
    this.at += to - taken
  }

  private endAtFlag(onFrame: OnFrame, onSpoilt: OnSpoilt | undefined): void {
    const { state, length, fcs, start, at } = this
    this.state = INSIDE
    this.length = 0
    this.fcs = FCS16_INIT
    this.start = at - 1
    if (state === HUNTING) {
      if (at - start > 1) onSpoilt?.('no-flag', start, at - 1)
    } else if (state === INSIDE && length >= SHORTEST_BODY + 2 && fcs === FCS16_GOOD)
      onFrame(this.buffer, length - 2, start, at)
    else if (state !== INSIDE || length > 0) onSpoilt?.(reasonFor(state, length), start, at)
  }
}

function reasonFor(state: number, length: number): SpoiltReason {
  if (state === OVERFLOWED) return 'too-long'
  if (state === ESCAPED) return 'aborted'
  return length < SHORTEST_BODY + 2 ? 'too-short' : 'bad-fcs'
}

export type DecodedFrame =
  | { readonly ok: true; readonly body: Uint8Array; readonly startIndex: number; readonly endIndex: number }
  | { readonly ok: false; readonly reason: SpoiltReason }

/**
 * The first good frame among the octets; where there is none, what was wrong with the first thing between flags,
 * or `no-flag` where nothing stands between two flags.
 * @param longestBody octets of body that are accepted at most
 */
export function decodeFrame(octets: Uint8Array, longestBody = DEFAULT_LONGEST_BODY): DecodedFrame {
  let found: DecodedFrame | undefined
  let spoilt: SpoiltReason | undefined
  new FrameDecoder(longestBody).push(
    octets,
    0,
    octets.length,
    (body, length, startIndex, endIndex) => {
      found ??= { ok: true, body: body.slice(0, length), startIndex, endIndex }
    },
    reason => {
      if (reason !== 'no-flag') spoilt ??= reason
    },
  )
  return found ?? { ok: false, reason: spoilt ?? 'no-flag' }
}
