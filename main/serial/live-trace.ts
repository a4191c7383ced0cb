import type { SessionEvent } from '../../shared/procedure/effects.ts'
import { msToNs } from '../../shared/sim/kernel.ts'
import { BURST, LaneRecorder, type Trace, TraceRecorder } from '../../shared/sim/trace.ts'
import { pieceAfter, type TraceCursor, type TracePiece } from '../../shared/sim/trace-piece.ts'
import { bitsPerCharacter, type LineSettings, lineMs, sameSettings, settingsText } from './port.ts'

/**
 * What went over a real port, in the shape in which a rehearsal is recorded, so that the same drawings show both.
 * A port tells when it hands octets over, not when they were on the line: a burst that is heard is taken to have
 * ended just then, so it lies late by as much as the adapter held it back.
 */

const TALKERS = { bench: 'bench', device: 'device' } as const
type Talker = keyof typeof TALKERS
/** More than any session needs; a line that babbles for hours must not fill the memory. */
const MOST_OCTETS = 16 * 1024 * 1024
/** Octets of one talker that follow each other this closely are one burst, however the adapter cut them. */
const GAP_MS = 4

export interface LiveTraceOptions {
  /** The port, for people. */
  readonly label: string
  readonly settings: LineSettings
  /** Adapters hand over in pieces this far apart what was one burst on the line. */
  readonly latencyMs: number
  /** The moment that is 0 in the trace, on the clock of whoever records. */
  readonly startedAtMs: number
}

export class LiveTrace {
  readonly #recorder = new TraceRecorder()
  readonly #o: LiveTraceOptions
  #settings: LineSettings
  #lane: LaneRecorder
  #endMs = 0
  #doneNs: number | undefined
  #octets = 0
  /** The burst that may still grow, and when the line is free after it. */
  #last: { readonly talker: Talker; endMs: number } | undefined

  constructor(options: LiveTraceOptions) {
    this.#o = options
    this.#settings = options.settings
    this.#lane = this.#newLane()
  }

  /** The line is set otherwise from now on: that is a lane of its own, for its characters last otherwise. */
  settings(settings: LineSettings): void {
    if (sameSettings(settings, this.#settings)) return
    this.#settings = settings
    // A line on which nothing was said needs no lane.
    if (this.#lane.octetLength === 0) this.#recorder.lanes.splice(this.#recorder.lanes.indexOf(this.#lane), 1)
    this.#lane = this.#newLane()
    this.#last = undefined
  }

  /** @param atMs when the octets began to leave */
  sent(octets: Uint8Array, atMs: number): void {
    this.#add('bench', octets, atMs - this.#o.startedAtMs)
    this.#last = undefined
  }

  /** @param atMs when the port handed the octets over */
  heard(octets: Uint8Array, atMs: number): void {
    const endMs = atMs - this.#o.startedAtMs
    const startMs = endMs - lineMs(octets.length, this.#settings)
    const last = this.#last
    if (last?.talker === 'device' && startMs - last.endMs <= GAP_MS + this.#o.latencyMs) {
      last.endMs = endMs
      return this.#extend(octets, endMs)
    }
    this.#add('device', octets, Math.max(0, startMs))
    this.#last = { talker: 'device', endMs }
  }

  /** What was sent last came back changed: somebody spoke at the same time. */
  collided(): void {
    const burst = this.#lane.startNs.length - 1
    if (burst >= 0) this.#lane.flags.set(burst, this.#lane.flags.at(burst) | BURST.collided)
  }

  event(event: SessionEvent, atMs: number): void {
    this.#endMs = Math.max(this.#endMs, atMs - this.#o.startedAtMs)
    this.#recorder.event(this.#ns(atMs), event)
  }

  /** All of it so far. @param atMs now, or when it ended */
  snapshot(atMs: number): Trace {
    const trace = this.#recorder.done(this.#endNs(atMs))
    // A line on which nothing was said yet is none to look at.
    return { ...trace, lanes: trace.lanes.filter(lane => lane.octets.length > 0) }
  }

  /**
   * What has been added since, or as much of it as makes one piece.
   * @param of a name that no other trace has
   * @param after where the piece before has ended; null for the first
   */
  piece(of: string, after: TraceCursor | null, atMs: number): TracePiece {
    return pieceAfter(this.#recorder, { of, endNs: this.#endNs(atMs) }, after)
  }

  /** Closes the phase that is open; the trace is as long as it is now, whenever it is asked for. */
  done(atMs: number, ended: 'done' | 'failed' | 'broken-off'): void {
    this.#recorder.closePhase(this.#ns(atMs), ended)
    this.#doneNs = this.#endNs(atMs)
  }

  #endNs(atMs: number): number {
    return this.#doneNs ?? Math.max(this.#ns(atMs), msToNs(this.#endMs))
  }

  #ns(atMs: number): number {
    return Math.max(0, Math.round(msToNs(atMs - this.#o.startedAtMs)))
  }

  #newLane(): LaneRecorder {
    const { baud, parity } = this.#settings
    const label = `${this.#o.label}, ${settingsText(this.#settings)}`
    const lane = new LaneRecorder('port', label, baud, bitsPerCharacter(this.#settings), parity)
    lane.talkers.push(TALKERS.bench, TALKERS.device)
    this.#recorder.lanes.push(lane)
    return lane
  }

  #add(talker: Talker, octets: Uint8Array, startMs: number): void {
    if (!this.#hasRoom(octets)) return
    const at = this.#lane.reserve(octets.length)
    this.#lane.octets.set(octets, at)
    this.#lane.burst(Math.round(msToNs(startMs)), talker === 'bench' ? 0 : 1, at, octets.length)
    this.#endMs = Math.max(this.#endMs, startMs + lineMs(octets.length, this.#settings))
  }

  #extend(octets: Uint8Array, endMs: number): void {
    if (!this.#hasRoom(octets)) return
    const lane = this.#lane
    const at = lane.reserve(octets.length)
    lane.octets.set(octets, at)
    lane.octetLength = at + octets.length
    const burst = lane.startNs.length - 1
    lane.octetCount.set(burst, lane.octetCount.at(burst) + octets.length)
    this.#endMs = Math.max(this.#endMs, endMs)
  }

  #hasRoom({ length }: Uint8Array): boolean {
    this.#octets += length
    return length > 0 && this.#octets <= MOST_OCTETS
  }
}
