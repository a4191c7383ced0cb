import { describeFrame } from '../procedure/bus.ts'
import { BURST, type HeardOtherwise, type Lane } from '../sim/trace.ts'
import { decodeFrame, FLAG, type SpoiltReason } from './hdlc.ts'
import { type LaneIndex, upperBound } from './lane-index.ts'

/** One burst of a lane as a frame, with its words. */
export interface LaneFrame {
  /** Place in order of start; the next frame has the next rank. */
  readonly rank: number
  readonly startNs: number
  readonly endNs: number
  /** Number of the talker in `Lane.talkers`, and its name. */
  readonly talker: number
  readonly talkerName: string
  readonly octets: Uint8Array
  /** Body of the frame after unstuffing, without FCS; undefined where the octets are no good frame. */
  readonly body: Uint8Array | undefined
  readonly title: string
  readonly detail: string
  readonly fate: FrameFate
  /** What a listener made of it, where that differs and is known. */
  readonly heard: HeardOtherwise | undefined
}

export type FrameFate = 'arrived' | 'collided' | 'noisy' | 'lost' | 'not-a-frame'

export const fateWords: Readonly<Record<FrameFate, string>> = {
  arrived: 'Arrived as sent.',
  collided: 'Collision: somebody else spoke at the same time, so it arrived spoilt.',
  noisy: 'Noise inverted at least one bit of it on the way.',
  lost: 'Lost: nobody at the other end could hear it.',
  'not-a-frame': 'These octets are no whole frame.',
}

const reasonWords: Readonly<Record<SpoiltReason, string>> = {
  'no-flag': 'no flag octet before or after it',
  'too-short': 'fewer than four octets between its flags',
  'too-long': 'longer than a frame may be',
  'bad-fcs': 'its check sequence (FCS-16) does not match',
  aborted: 'broken off by its sender',
}

export function fateOf(flags: number, isFrame: boolean): FrameFate {
  if (flags & BURST.collided) return 'collided'
  if (flags & BURST.lost) return 'lost'
  if (flags & BURST.noisy) return 'noisy'
  return isFrame ? 'arrived' : 'not-a-frame'
}

const KEPT_FRAMES = 4096

/** Decodes frames of a lane when they are asked for, and keeps the last few thousand. */
export class LaneDecoder {
  readonly index: LaneIndex
  private readonly lane: Lane
  private readonly kept = new Map<number, LaneFrame>()
  private readonly heardAtNs: Float64Array

  constructor(index: LaneIndex) {
    this.index = index
    this.lane = index.lane
    this.heardAtNs = Float64Array.from(index.lane.heard, h => h.atNs)
  }

  /** @throws RangeError when there is no such rank */
  frame(rank: number): LaneFrame {
    if (rank < 0 || rank >= this.index.count) throw new RangeError(`no frame ${rank}`)
    const known = this.kept.get(rank)
    if (known !== undefined) return known
    if (this.kept.size >= KEPT_FRAMES) this.kept.clear()
    const frame = this.decode(rank)
    this.kept.set(rank, frame)
    return frame
  }

  /** Frames that touch the window, in order of start; at most `most`. */
  framesIn(fromNs: number, toNs: number, most = 1000): LaneFrame[] {
    const { first, last } = this.index.window(fromNs, toNs)
    const frames: LaneFrame[] = []
    for (let rank = first; rank < last && frames.length < most; rank++)
      if (this.index.endNs[rank] > fromNs) frames.push(this.frame(rank))
    return frames
  }

  private decode(rank: number): LaneFrame {
    const { lane, index } = this
    const burst = index.burst(rank)
    const first = lane.firstOctet[burst]
    const octets = lane.octets.subarray(first, first + lane.octetCount[burst])
    const decoded = decodeFrame(octets)
    const flags = lane.flags[burst]
    // On a real port any protocol may be spoken; only what begins like a frame is meant to be one.
    const speaksOtherwise = lane.id === 'port' && octets[0] !== FLAG
    const words = decoded.ok
      ? describeFrame(decoded.body)
      : speaksOtherwise
        ? { title: 'Octets', detail: octets.length === 1 ? '1 octet' : `${octets.length} octets` }
        : { title: 'No whole frame', detail: reasonWords[decoded.reason] }
    const endNs = index.endNs[rank]
    return {
      rank,
      startNs: index.startNs[rank],
      endNs,
      talker: lane.talker[burst],
      talkerName: lane.talkers[lane.talker[burst]] ?? 'unknown',
      octets,
      body: decoded.ok ? decoded.body : undefined,
      ...words,
      fate: fateOf(flags, decoded.ok || speaksOtherwise),
      heard: flags & (BURST.collided | BURST.noisy) ? this.heardAfter(endNs) : undefined,
    }
  }

  /** What was made of a tangle of bursts is noted when the last of them ends. */
  private heardAfter(endNs: number): HeardOtherwise | undefined {
    return this.lane.heard[upperBound(this.heardAtNs, endNs - 1000)]
  }
}

/** Octets as pairs of hexadecimal digits with spaces between. */
export const hexOf = (octets: Uint8Array): string =>
  Array.from(octets, octet => octet.toString(16).toUpperCase().padStart(2, '0')).join(' ')
