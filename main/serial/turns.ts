import { PortLostError } from './port.ts'

/** Writes and settings of a port come one after the other, each when what was asked before it is done. */
export class Turns {
  readonly #whyNot: () => string | undefined
  #last: Promise<unknown> = Promise.resolve()
  #ahead = 0

  /** @param whyNot why nothing is done any more, where that is so by the time of a turn */
  constructor(whyNot: () => string | undefined) {
    this.#whyNot = whyNot
  }

  /** Nothing is under way, and nothing waits. */
  get isFree(): boolean {
    return this.#ahead === 0
  }

  /** @throws PortLostError where `whyNot` has a reason; what the task throws, which keeps no other from its turn */
  take<T>(task: () => Promise<T>): Promise<T> {
    this.#ahead++
    const mine = this.#last.then(() => {
      const why = this.#whyNot()
      if (why !== undefined) throw new PortLostError(why)
      return task()
    })
    this.#last = mine.catch(() => {}).then(() => void this.#ahead--)
    return mine
  }
}
