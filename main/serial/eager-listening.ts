/**
 * Being woken by the system takes longer than some answers do. Where a port answers that fast, looking for a moment
 * is worth it; where it does not, every look is lost time for everybody else in this process, so it is given up at
 * once and tried again more and more rarely. Adapters with a latency timer are never looked at: theirs is longer.
 */

/** So long is looked at the most, in milliseconds. */
export const LOOK_MS = 0.2
/** After a look in vain so many are left out; twice as many each time that it is in vain again. */
export const LEFT_OUT_FIRST = 4
export const LEFT_OUT_MOST = 1024

export class EagerListening {
  readonly #nowMs: () => number
  readonly #hasTimer: boolean
  #leaveOut = 0
  #nextLeaveOut = LEFT_OUT_FIRST

  /** @param latencyMs the port's latency timer, in milliseconds */
  constructor(latencyMs: number, nowMs = () => performance.now()) {
    this.#hasTimer = latencyMs > 0
    this.#nowMs = nowMs
  }

  /**
   * @param hasCome one look
   * @returns whether it came in time; false without a look where that is not worth it
   */
  look(hasCome: () => boolean): boolean {
    if (this.#hasTimer || this.#leaveOut-- > 0) return false
    const untilMs = this.#nowMs() + LOOK_MS
    do {
      if (!hasCome()) continue
      this.#leaveOut = 0
      this.#nextLeaveOut = LEFT_OUT_FIRST
      return true
    } while (this.#nowMs() < untilMs)
    this.#leaveOut = this.#nextLeaveOut
    this.#nextLeaveOut = Math.min(LEFT_OUT_MOST, 2 * this.#nextLeaveOut)
    return false
  }
}
