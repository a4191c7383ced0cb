import { type LineSettings, lineMs } from './port.ts'

/**
 * Until when what was sent is still on its way, as far as the rate tells. Some ports are faster than their rate, a
 * virtual COM port for one, and then an answer is the proof that the line is free.
 */
export class LineClock {
  /** On the clock of whoever asks, in milliseconds. */
  freeAtMs = 0
  #lastMs = 0

  /** @returns when these octets begin to leave */
  sent(octets: number, settings: LineSettings, nowMs: number): number {
    const startMs = Math.max(nowMs, Math.min(this.freeAtMs, nowMs + lineMs(MOST_BUFFERED, settings)))
    this.#lastMs = lineMs(octets, settings)
    this.freeAtMs = startMs + this.#lastMs
    return startMs
  }

  /** Something was heard: what was sent before the last octets has left, for the answer is to that or to these. */
  heard(nowMs: number): void {
    this.freeAtMs = Math.min(this.freeAtMs, nowMs + this.#lastMs)
  }
}

/** Octets that wait in system and adapter at the most; a write waits for room beyond that. Common practice, no source. */
const MOST_BUFFERED = 8192
