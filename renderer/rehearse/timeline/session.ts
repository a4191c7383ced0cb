import type { RehearsalReport } from '../../../shared/rehearse/report.ts'
import type { Lane, Trace } from '../../../shared/sim/trace.ts'
import { LaneDecoder, type LaneFrame } from '../../../shared/wire/decode-lane.ts'
import { LaneIndex } from '../../../shared/wire/lane-index.ts'
import { type Density, densityOf } from './density.ts'
import type { ZoomUnits } from './viewport.ts'

/** A lane with all that is worked out once so that drawing it is quick. */
export interface LaneView {
  readonly lane: Lane
  readonly index: LaneIndex
  readonly decoder: LaneDecoder
  readonly density: Density
}

/** What went over the lines, ready for the screen: of a rehearsal, or of a real port. */
export interface LineSession {
  readonly trace: Trace
  readonly lanes: readonly LaneView[]
  readonly units: ZoomUnits
  /** The receiver's controller resets below this. */
  readonly brownOutVolts: number | undefined
}

/** A rehearsal ready for the screen. */
export interface Session extends LineSession {
  readonly report: RehearsalReport
  /** The whole program flash afterwards. */
  readonly flash: Uint8Array
}

/** Only a simulated supply is recorded. */
export const hasSupply = ({ trace }: LineSession): boolean => trace.supply.count > 0

export function makeSession(
  report: RehearsalReport,
  trace: Trace,
  flash: Uint8Array,
  brownOutVolts: number | undefined,
): Session {
  return { report, flash, ...makeTraffic(trace, brownOutVolts) }
}

export function makeTraffic(trace: Trace, brownOutVolts: number | undefined): LineSession {
  const lanes = trace.lanes.map(lane => {
    const index = new LaneIndex(lane)
    return { lane, index, decoder: new LaneDecoder(index), density: densityOf(index, trace.endNs) }
  })
  return { trace, lanes, units: unitsOf(trace, lanes), brownOutVolts }
}

function unitsOf(trace: Trace, lanes: readonly LaneView[]): ZoomUnits {
  const fastest = lanes.reduce<LaneView | undefined>(
    (best, view) => (best === undefined || view.lane.baud > best.lane.baud ? view : best),
    undefined,
  )
  if (fastest === undefined) return { endNs: trace.endNs, bitNs: 1000, bitsPerCharacter: 10, frameNs: 1e6 }
  const { lane, index } = fastest
  const usual = lane.burstCount === 0 ? 20 : lane.octets.length / lane.burstCount
  return {
    endNs: trace.endNs,
    bitNs: index.bitNs,
    bitsPerCharacter: lane.bitsPerCharacter,
    frameNs: usual * index.characterNs,
  }
}

/** A frame of one of the session's lanes. */
export interface FrameRef {
  readonly laneNumber: number
  readonly rank: number
}

export const frameOf = (session: LineSession, ref: FrameRef): LaneFrame | undefined => {
  const lane = session.lanes[ref.laneNumber]
  return lane === undefined || ref.rank >= lane.index.count ? undefined : lane.decoder.frame(ref.rank)
}

/** The frame under way at a moment on a lane, or the next one, or the last before it. */
export function nearestFrame(session: LineSession, laneNumber: number, atNs: number): FrameRef | undefined {
  const lane = session.lanes[laneNumber]
  if (lane === undefined || lane.index.count === 0) return undefined
  const under = lane.index.at(atNs)
  if (under !== undefined) return { laneNumber, rank: under }
  const { last } = lane.index.window(atNs, atNs)
  return { laneNumber, rank: Math.min(last, lane.index.count - 1) }
}

/** The next (`1`) or previous (`-1`) frame on the same lane. */
export function neighbour(session: LineSession, ref: FrameRef, by: 1 | -1): FrameRef {
  const count = session.lanes[ref.laneNumber].index.count
  return { ...ref, rank: Math.min(count - 1, Math.max(0, ref.rank + by)) }
}
