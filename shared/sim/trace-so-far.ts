import { f64, u16, u32 } from './pack.ts'
import { LaneRecorder, type Phase, type Trace, TraceRecorder } from './trace.ts'
import type { LanePiece, TraceCursor, TracePiece } from './trace-piece.ts'

/** The phase that lasts still, drawn as far as it has come: a trace has it only once it is over. */
export function withStandingPhase(trace: Trace): Trace {
  const last = trace.events.findLast(({ event }) => event.kind === 'phase' || event.kind === 'attempt-failed')
  if (last?.event.kind !== 'phase') return trace
  const { phase: id, attempt } = last.event
  const { atNs: startNs } = last
  if (trace.phases.some(phase => phase.id === id && phase.attempt === attempt && phase.startNs === startNs))
    return trace
  const standing: Phase = { id, attempt, startNs, endNs: Math.max(startNs, trace.endNs), ended: 'done' }
  return { ...trace, phases: [...trace.phases, standing] }
}

/** What somebody has of a trace that is handed over piece by piece (`pieceAfter`). */
export class TraceSoFar {
  #recorder = new TraceRecorder()
  #next: TraceCursor | null = null
  #endNs = 0

  /** What the next piece is asked for with; null for the first. */
  get cursor(): TraceCursor | null {
    return this.#next
  }

  /**
   * Puts a piece to what there is. One of a trace that was begun anew takes its place.
   * @returns false where it does not go on from what there is; then all is forgotten, and the next one is the first
   */
  add(piece: TracePiece): boolean {
    if (piece.anew) this.#forget()
    else if (this.#next?.of !== piece.of || !piece.lanes.every(lane => this.#goesOn(lane))) {
      this.#forget()
      return false
    }
    for (const lane of piece.lanes) this.#addLane(lane)
    this.#addProgress(piece.progress)
    this.#recorder.phases.push(...piece.phases)
    this.#recorder.events.push(...piece.events)
    this.#endNs = piece.endNs
    this.#next = piece.next
    return true
  }

  /** All of it so far. */
  whole(): Trace {
    return this.#recorder.done(this.#endNs)
  }

  #forget(): void {
    this.#recorder = new TraceRecorder()
    this.#next = null
    this.#endNs = 0
  }

  #goesOn({ at, fromBurst, fromOctet }: LanePiece): boolean {
    const { lanes } = this.#recorder
    const lane = lanes[at]
    if (lane === undefined) return fromBurst === 0 && fromOctet === 0
    return fromOctet === lane.octetLength && fromBurst === Math.max(0, lane.startNs.length - 1)
  }

  #addLane(piece: LanePiece): void {
    const lane = this.#laneOf(piece)
    const startNs = f64(piece.startNs)
    const octetCount = u32(piece.octetCount)
    const at = lane.reserve(piece.octets.length)
    lane.octets.set(piece.octets, at)
    for (let i = 0; i < startNs.length; i++) {
      const burst = piece.fromBurst + i
      if (burst < lane.startNs.length) lane.octetCount.set(burst, octetCount[i])
      else {
        const before = burst === 0 ? 0 : lane.firstOctet.at(burst - 1) + lane.octetCount.at(burst - 1)
        lane.burst(startNs[i], piece.talker[i], before, octetCount[i])
      }
      lane.flags.set(burst, piece.flags[i])
    }
    lane.octetLength = at + piece.octets.length
  }

  #laneOf({ at, id, label, baud, bitsPerCharacter, parity, talkers }: LanePiece): LaneRecorder {
    const { lanes } = this.#recorder
    const known = lanes[at]
    if (known !== undefined) return known
    const lane = new LaneRecorder(id, label, baud, bitsPerCharacter, parity)
    lane.talkers.push(...talkers)
    lanes.push(lane)
    return lane
  }

  #addProgress({ count, atNs, done, total, phase }: TracePiece['progress']): void {
    const { progressAt, progressDone, progressTotal, progressPhase } = this.#recorder
    const [at, dones, totals, phases] = [f64(atNs), f64(done), f64(total), u16(phase)]
    for (let i = 0; i < count; i++) {
      progressAt.push(at[i])
      progressDone.push(dones[i])
      progressTotal.push(totals[i])
      progressPhase.push(phases[i])
    }
  }
}
