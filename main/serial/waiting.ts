/**
 * One timer that is moved, for deadlines that mostly are not reached: one that comes later than the timer goes off
 * costs nothing, for the timer then finds that it is early and sets itself anew.
 */
export class Alarm {
  readonly #nowMs: () => number
  readonly #ring: () => void
  #timer: NodeJS.Timeout | undefined
  #timerAtMs = 0
  /** When it is to ring; undefined when it is not. */
  #atMs: number | undefined

  /** @param ring called once for each `set` whose time comes */
  constructor(nowMs: () => number, ring: () => void) {
    this.#nowMs = nowMs
    this.#ring = ring
  }

  /** @param atMs on the clock `nowMs`; in place of what was set before */
  set(atMs: number): void {
    this.#atMs = atMs
    if (this.#timer !== undefined && this.#timerAtMs <= atMs) return
    this.#start(atMs)
  }

  /** It does not ring; the timer may stay. */
  unset(): void {
    this.#atMs = undefined
  }

  /** Takes the timer away too. */
  end(): void {
    this.unset()
    clearTimeout(this.#timer)
    this.#timer = undefined
  }

  #start(atMs: number): void {
    clearTimeout(this.#timer)
    this.#timerAtMs = atMs
    this.#timer = setTimeout(() => this.#goesOff(), Math.max(0, atMs - this.#nowMs()))
  }

  #goesOff(): void {
    this.#timer = undefined
    const atMs = this.#atMs
    if (atMs === undefined) return
    if (this.#nowMs() < atMs) return this.#start(atMs)
    this.#atMs = undefined
    this.#ring()
  }
}

/** Looks each time that something happens, until there is a result or the time is over. One wait at a time. */
export class Waiting<T> {
  readonly #alarm: Alarm
  #look: () => void = nothing
  #overdue: () => void = nothing

  constructor(nowMs: () => number) {
    this.#alarm = new Alarm(nowMs, () => this.#overdue())
  }

  /** Something has happened: whoever waits looks whether that was it. */
  wake(): void {
    this.#look()
  }

  /**
   * @param look gives the result, or undefined as long as there is none; what it throws ends the wait
   * @param untilMs on the clock `nowMs`
   * @param overdue gives the result when the time is over; it may wait once more for that
   */
  until(look: () => T | undefined, untilMs: number, overdue: () => T | Promise<T>): Promise<T> {
    return new Promise((resolve, reject) => {
      this.#look = () => {
        try {
          const result = look()
          if (result === undefined) return
          resolve(result)
        } catch (error) {
          reject(error)
        }
        this.#look = nothing
        this.#alarm.unset()
      }
      this.#overdue = () => {
        this.#look = nothing
        try {
          resolve(overdue())
        } catch (error) {
          reject(error)
        }
      }
      this.#alarm.set(untilMs)
    })
  }

  /** Nothing of it is left behind; a wait that is under way does not end. */
  end(): void {
    this.#look = nothing
    this.#alarm.end()
  }
}

const nothing = () => {}
