import { fateWords, type LaneFrame } from '../../../shared/wire/decode-lane.ts'
import { type FrameRef, type LineSession, nearestFrame } from './session.ts'
import { saySpan } from './viewport.ts'

/** A frame in one line: who, what, and what became of it. */
export function sayFrame(frame: LaneFrame): string {
  const fate = frame.fate === 'arrived' ? '' : ` ${fateWords[frame.fate]}`
  return `${frame.talkerName}: ${frame.title}. ${frame.detail}.${fate}`
}

/** What the picture shows at this moment, for those who cannot see it. */
export function sayMomentInWords(session: LineSession, atNs: number, spanNs: number): string {
  const lanes = session.lanes.map(({ lane, index, decoder }) => {
    const rank = index.at(atNs)
    return `${lane.label}: ${rank === undefined ? 'silent' : sayFrame(decoder.frame(rank))}`
  })
  return [`${saySpan(spanNs)} in view.`, ...lanes].join(' ')
}

/** Frames around a moment on one lane, for the list: at most `most`, the moment's own in the middle. */
export function framesAround(
  session: LineSession,
  laneNumber: number,
  atNs: number,
  most: number,
): FrameRef[] {
  const near = nearestFrame(session, laneNumber, atNs)
  if (near === undefined) return []
  const { count } = session.lanes[laneNumber].index
  const first = Math.max(0, Math.min(near.rank - Math.floor(most / 2), count - most))
  return Array.from({ length: Math.min(most, count - first) }, (_, i) => ({ laneNumber, rank: first + i }))
}

export const frameKey = (ref: FrameRef): string => `${ref.laneNumber}-${ref.rank}`
