/**
 * Being woken by the system takes longer than some answers do. Where a port answers that fast, looking for a moment
 * can be worth it; it can also keep the processor from whoever is to answer. So both ways are measured, the faster one
 * is taken, and the other is tried again more and more rarely. Adapters with a latency timer are never looked at:
 * theirs is longer.
 */

/** So long is looked at the most, in milliseconds. */
export const LOOK_MS = 0.2
/** A way is judged by the mean of its latest exchanges, at the most so many: now and then it is late, and that counts too. */
export const TRY_EXCHANGES = 16
/** So many exchanges go the faster way before the other is tried; twice as many each time that it was slower. */
export const STAY_FIRST = 64
export const STAY_MOST = 8192
/** After so many looks in vain, one behind the other, nothing more is looked at for now. */
export const MOST_IN_VAIN = 3
/** What takes longer counts as this long, in milliseconds: looking or not does not matter to it. */
const LONG_MS = 4 * LOOK_MS

type Way = 'look' | 'sleep'
const otherThan = (way: Way): Way => (way === 'look' ? 'sleep' : 'look')

export class EagerListening {
  readonly #nowMs: () => number
  readonly #hasTimer: boolean
  /** How long the latest exchanges of each way took, in milliseconds. */
  readonly #took: Readonly<Record<Way, number[]>> = { look: [], sleep: [] }
  #faster: Way = 'sleep'
  #way: Way = 'look'
  #left = TRY_EXCHANGES
  #stay = STAY_FIRST / 2
  #inVain = 0
  /** Since when an answer is waited for. */
  #sinceMs: number | undefined
  #hasMissed = false

  /** @param latencyMs the port's latency timer, in milliseconds */
  constructor(latencyMs: number, nowMs = () => performance.now()) {
    this.#hasTimer = latencyMs > 0
    this.#nowMs = nowMs
  }

  /**
   * To be called when an answer is waited for.
   * @param hasCome one look
   * @returns whether it came in time; false without a look where that is not worth it
   */
  look(hasCome: () => boolean): boolean {
    if (this.#hasTimer) return false
    const sinceMs = this.#nowMs()
    this.#sinceMs = sinceMs
    this.#hasMissed = false
    if (this.#way === 'sleep') return false
    do if (hasCome()) return true
    while (this.#nowMs() - sinceMs < LOOK_MS)
    this.#hasMissed = true
    return false
  }

  /** To be called when something has come, whether a look found it or not. */
  heard(): void {
    if (this.#sinceMs === undefined) return
    const tookMs = Math.min(LONG_MS, this.#nowMs() - this.#sinceMs)
    this.#sinceMs = undefined
    this.#inVain = this.#hasMissed ? this.#inVain + 1 : 0
    const took = this.#took[this.#way]
    // Looks in vain are time lost for others.
    took.push(this.#hasMissed ? tookMs + LOOK_MS : tookMs)
    if (took.length > TRY_EXCHANGES) took.shift()
    if (--this.#left <= 0 || this.#inVain >= MOST_IN_VAIN) this.#choose()
  }

  #choose(): void {
    if (this.#inVain >= MOST_IN_VAIN) this.#took.look.splice(0, this.#took.look.length - MOST_IN_VAIN)
    this.#inVain = 0
    const isTry = this.#way !== this.#faster
    if (isTry && mean(this.#took[this.#way]) < mean(this.#took[this.#faster])) {
      this.#faster = this.#way
      this.#stay = STAY_FIRST / 2
    }
    this.#way = isTry ? this.#faster : otherThan(this.#faster)
    if (!isTry) this.#took[this.#way].length = 0
    else this.#stay = Math.min(STAY_MOST, 2 * this.#stay)
    this.#left = isTry ? this.#stay : TRY_EXCHANGES
  }
}

/** What was never tried is taken for the fastest. */
const mean = (tookMs: readonly number[]): number =>
  tookMs.length === 0 ? 0 : tookMs.reduce((sum, ms) => sum + ms, 0) / tookMs.length
