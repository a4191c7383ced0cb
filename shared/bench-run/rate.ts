/** How fast it goes, and how long it will take, from what is done: over the last seconds, so that a stall shows. */

const WINDOW_MS = 5000
/** With less behind it a figure would jump about. */
const LEAST_MS = 400

export class Rate {
  readonly #points: { readonly atMs: number; readonly done: number }[] = []

  /** Begins anew, as each phase does. */
  reset(): void {
    this.#points.length = 0
  }

  /** @param done never less than before */
  tell(atMs: number, done: number): void {
    const points = this.#points
    if (points.length > 0 && done < points[points.length - 1].done) this.reset()
    points.push({ atMs, done })
    while (points.length > 2 && points[1].atMs <= atMs - WINDOW_MS) points.shift()
  }

  /** Units a second, up to now; undefined while there is too little to say it. */
  perSecond(nowMs: number): number | undefined {
    const [first] = this.#points
    const last = this.#points.at(-1)
    if (first === undefined || last === undefined) return undefined
    const spanMs = nowMs - first.atMs
    return spanMs < LEAST_MS || last.done === first.done
      ? undefined
      : ((last.done - first.done) * 1000) / spanMs
  }

  /** Seconds until all is done at this rate. */
  secondsLeft(nowMs: number, total: number): number | undefined {
    const rate = this.perSecond(nowMs)
    const done = this.#points.at(-1)?.done ?? 0
    return rate === undefined ? undefined : Math.max(0, (total - done) / rate)
  }
}
