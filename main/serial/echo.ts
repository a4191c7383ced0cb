/**
 * On a half-duplex line with one wire an adapter hears what it says itself. Takes exactly that out again, and knows
 * when it came back changed or not at all.
 */
export type EchoTrouble =
  /** What came back is not what was sent: somebody else spoke at the same time. */
  | 'changed'
  /** Nothing of it came back. */
  | 'missing'

/** Nothing that is sent in one go is longer; what is still awaited beyond it will not come. */
const MOST_AWAITED = 64 * 1024

export class EchoRemoval {
  readonly #say: (trouble: EchoTrouble) => void
  #awaited: number[] = []
  #at = 0
  /** An echo has been heard on this port at least once. */
  #seen = false
  #changed = false

  constructor(say: (trouble: EchoTrouble) => void) {
    this.#say = say
  }

  get #left(): number {
    return this.#awaited.length - this.#at
  }

  sent(octets: Uint8Array): void {
    if (this.#left + octets.length > MOST_AWAITED) this.giveUp()
    this.#awaited = this.#awaited.slice(this.#at)
    this.#at = 0
    for (const octet of octets) this.#awaited.push(octet)
    this.#changed = false
  }

  /** @returns what is left of these octets when the echo is taken out */
  pass(octets: Uint8Array): Uint8Array {
    let taken = 0
    for (; taken < octets.length && this.#left > 0; taken++, this.#at++) {
      if (octets[taken] === this.#awaited[this.#at]) {
        this.#seen = true
        continue
      }
      // Where no echo was ever heard, this is an answer, and the line has no echo.
      if (!this.#seen) {
        this.giveUp()
        break
      }
      if (!this.#changed) this.#say('changed')
      this.#changed = true
    }
    return octets.subarray(taken)
  }

  /** The time for an answer is over: what has not come back by now will not. */
  giveUp(): void {
    if (this.#left === 0) return
    this.forget()
    this.#say('missing')
  }

  /** Nothing is awaited any more. */
  forget(): void {
    this.#awaited = []
    this.#at = 0
  }
}
