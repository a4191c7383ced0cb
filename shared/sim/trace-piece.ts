import { z } from 'zod'
import { bytesOf, packedTraceSchema } from './pack.ts'
import type { LaneRecorder, TraceRecorder } from './trace.ts'

/**
 * A trace that grows, handed over piece by piece. Everything in it is only ever added to, but for the last burst of the
 * last line, which may still become longer or collide; so each piece begins with the burst that was the last before.
 */

/** Octets and bursts of one piece: some seconds of a line at 115,200 baud, some hundred KiB at the most. */
export const MOST_PIECE_OCTETS = 64 * 1024
export const MOST_PIECE_BURSTS = 4096
const MOST_PIECE_EVENTS = 500
const MOST_PIECE_PROGRESS = 2048

const count = z.number().int().min(0).max(0xffff_ffff)

/** How much of a trace somebody has. */
export const traceCursorSchema = z.strictObject({
  /** The name of the trace: another one is begun anew. */
  of: z.string().min(1).max(100),
  /** The line that is being handed over, and how much of it. */
  lane: count,
  bursts: count,
  octets: count,
  progress: count,
  phases: count,
  events: count,
})
export type TraceCursor = z.infer<typeof traceCursorSchema>

const { lanes, progress, phases, events } = packedTraceSchema.shape
const lanePieceSchema = lanes.element
  .pick({ id: true, label: true, baud: true, bitsPerCharacter: true, parity: true, talkers: true })
  .extend(
    lanes.element.pick({ startNs: true, talker: true, octetCount: true, flags: true, octets: true }).shape,
  )
  .extend({
    /** The how-manieth line it is, and where in it the piece begins. */
    at: count,
    fromBurst: count,
    fromOctet: count,
  })
export type LanePiece = z.infer<typeof lanePieceSchema>

export const tracePieceSchema = z.object({
  of: z.string(),
  /** It begins the trace: what was there before is no part of it. */
  anew: z.boolean(),
  /** How long the trace is by now. */
  endNs: z.number(),
  lanes: z.array(lanePieceSchema),
  ...{ progress, phases, events },
  next: traceCursorSchema,
  /** There is more already. */
  more: z.boolean(),
})
export type TracePiece = z.infer<typeof tracePieceSchema>

const START = { lane: 0, bursts: 0, octets: 0, progress: 0, phases: 0, events: 0 }
type Place = Pick<TraceCursor, 'lane' | 'bursts' | 'octets'>

/**
 * The piece that comes next.
 * @param about the name of this trace, and how long it is by now
 * @param after where the piece before has ended; one of another trace, or one that cannot be, is taken for none
 */
export function pieceAfter(
  recorder: TraceRecorder,
  about: { readonly of: string; readonly endNs: number },
  after: TraceCursor | null,
): TracePiece {
  // Nothing was said yet on a line that is empty, and it may still be dropped.
  const said = recorder.lanes.filter(lane => lane.octetLength > 0)
  const isKnown = after !== null && after.of === about.of && isWithin(recorder, said, after)
  const from = isKnown ? after : START
  const { lanes, place } = lanesAfter(said, from)
  const progressTo = Math.min(from.progress + MOST_PIECE_PROGRESS, recorder.progressAt.length)
  const events = recorder.events.slice(from.events, from.events + MOST_PIECE_EVENTS)
  const next: TraceCursor = {
    ...{ of: about.of, ...place, progress: progressTo },
    phases: recorder.phases.length,
    events: from.events + events.length,
  }
  return {
    ...about,
    anew: !isKnown,
    ...{ lanes, events, next },
    progress: progressPart(recorder, from.progress, progressTo),
    phases: recorder.phases.slice(from.phases),
    more: !isAtEnd(recorder, said, next),
  }
}

/** Could this cursor be one of this trace? */
function isWithin(recorder: TraceRecorder, said: readonly LaneRecorder[], after: TraceCursor): boolean {
  const lane = said[after.lane]
  const isLane =
    lane === undefined
      ? after.lane === 0 && after.bursts === 0 && after.octets === 0
      : after.bursts <= lane.startNs.length && after.octets <= lane.octetLength
  return (
    isLane &&
    after.progress <= recorder.progressAt.length &&
    after.phases <= recorder.phases.length &&
    after.events <= recorder.events.length
  )
}

function isAtEnd(recorder: TraceRecorder, said: readonly LaneRecorder[], next: TraceCursor): boolean {
  const lane = said[next.lane]
  const isLast = next.lane >= said.length - 1 && (lane === undefined || next.octets === lane.octetLength)
  return isLast && next.progress === recorder.progressAt.length && next.events === recorder.events.length
}

/** Line by line, as far as there is room in a piece. */
function lanesAfter(
  said: readonly LaneRecorder[],
  from: Place,
): { readonly lanes: LanePiece[]; readonly place: Place } {
  const lanes: LanePiece[] = []
  let place: Place = { lane: from.lane, bursts: from.bursts, octets: from.octets }
  const room = { octets: MOST_PIECE_OCTETS, bursts: MOST_PIECE_BURSTS }
  for (let lane = said[place.lane]; lane !== undefined; lane = said[place.lane]) {
    const to = placeAfter(lane, place, room)
    lanes.push(lanePart(lane, place, to))
    room.octets -= to.octets - place.octets
    room.bursts -= to.bursts - place.bursts
    place = to
    if (to.octets < lane.octetLength || said[place.lane + 1] === undefined) break
    place = { lane: place.lane + 1, bursts: 0, octets: 0 }
    if (room.octets === 0 || room.bursts === 0) break
  }
  return { lanes, place }
}

/** How far this line can be handed over; the last burst may be cut, for it can be longer than a piece. */
function placeAfter(
  lane: LaneRecorder,
  { lane: at, bursts: from, octets }: Place,
  room: { readonly octets: number; readonly bursts: number },
): Place {
  const { firstOctet } = lane
  let end = Math.min(lane.octetLength, octets + room.octets)
  let bursts = from
  while (bursts < firstOctet.length && firstOctet.at(bursts) < end && bursts - from < room.bursts) bursts++
  if (bursts < firstOctet.length) end = Math.min(end, firstOctet.at(bursts))
  return { lane: at, bursts, octets: Math.max(octets, end) }
}

function lanePart(lane: LaneRecorder, from: Place, to: Place): LanePiece {
  const { id, label, baud, bitsPerCharacter, parity, talkers, firstOctet } = lane
  const first = Math.max(0, from.bursts - 1)
  const octetCount = lane.octetCount.part(first, to.bursts)
  const last = octetCount.length - 1
  if (last >= 0) octetCount[last] = Math.min(octetCount[last], to.octets - firstOctet.at(to.bursts - 1))
  return {
    ...{ id, label, baud, bitsPerCharacter, parity, talkers: [...talkers] },
    ...{ at: from.lane, fromBurst: first, fromOctet: from.octets },
    startNs: bytesOf(lane.startNs.part(first, to.bursts)),
    talker: lane.talker.part(first, to.bursts),
    octetCount: bytesOf(octetCount),
    flags: lane.flags.part(first, to.bursts),
    octets: lane.octets.slice(from.octets, to.octets),
  }
}

function progressPart(recorder: TraceRecorder, from: number, to: number): TracePiece['progress'] {
  const { progressAt, progressDone, progressTotal, progressPhase } = recorder
  return {
    count: to - from,
    atNs: bytesOf(progressAt.part(from, to)),
    done: bytesOf(progressDone.part(from, to)),
    total: bytesOf(progressTotal.part(from, to)),
    phase: bytesOf(progressPhase.part(from, to)),
  }
}
