import type { EchoSeen } from '../../shared/bench-run/echo-words.ts'

/**
 * On a half-duplex line with one wire an adapter hears what it says itself. Takes exactly that out again, and knows
 * when it came back changed or not at all.
 */
export type EchoTrouble =
  /** What came back is not what was sent: somebody else spoke at the same time. */
  | 'changed'
  /** Nothing of it came back, and nothing else did; nothing ever has. */
  | 'missing'
  /** The same, though it had come back before. */
  | 'missing-now'
  /** An answer came without it: the line has no echo. Said once. */
  | 'no-echo'

/** Nothing that is sent in one go is longer; what is still awaited beyond it will not come. */
const MOST_AWAITED = 64 * 1024
const NOTHING = new Uint8Array(0)

export class EchoRemoval {
  readonly #say: (trouble: EchoTrouble) => void
  #awaited: number[] = []
  #at = 0
  /** An echo has been heard on this port at least once. */
  #seen = false
  #changed = false
  /** Until then, what was heard in place of what is awaited, and how many octets of it are the same. */
  #held: number[] = []
  #same = 0
  /** How often something came instead of an echo, and how often nothing at all. */
  #instead = 0
  #silent = 0

  constructor(say: (trouble: EchoTrouble) => void) {
    this.#say = say
  }

  /** What has become of what was sent, by all that was heard until now. */
  get found(): EchoSeen {
    if (this.#seen) return 'came-back'
    if (this.#instead > 0) return 'answers-only'
    return this.#silent > 0 ? 'silence' : 'not-known'
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

  /** @returns what is left of these octets when the echo is taken out, behind what was taken for echo and was none */
  pass(octets: Uint8Array): Uint8Array {
    let taken = 0
    for (; taken < octets.length && this.#left > 0; taken++, this.#at++) {
      const isSame = octets[taken] === this.#awaited[this.#at]
      if (this.#seen) {
        if (!isSame) this.#sayChanged()
        continue
      }
      // What begins otherwise is an answer, and the line has no echo.
      if (!isSame && (this.#held.length === 0 || this.#instead > 0))
        return joined(this.#noEcho(), octets.subarray(taken))
      this.#hold(octets[taken], isSame)
    }
    const isNone = !this.#seen && this.#left === 0 && this.#held.length > 0 && !this.#isProven()
    return isNone ? joined(this.#noEcho(), octets.subarray(taken)) : octets.subarray(taken)
  }

  /**
   * The time for an answer is over: what has not come back by now will not.
   * @returns what was taken for the beginning of an echo, and is none
   */
  giveUp(): Uint8Array {
    if (this.#left === 0) return NOTHING
    // Frames of question and answer begin alike: what is the same and no more may be either, and says nothing.
    if (this.#held.length > this.#same) return this.#noEcho()
    if (!this.#seen) this.#silent++
    this.forget()
    this.#say(this.#seen ? 'missing-now' : 'missing')
    return NOTHING
  }

  /** Nothing is awaited any more. */
  forget(): void {
    this.#awaited = []
    this.#at = 0
    this.#held = []
    this.#same = 0
  }

  #hold(octet: number, isSame: boolean): void {
    this.#held.push(octet)
    if (isSame) this.#same++
  }

  #sayChanged(): void {
    if (!this.#changed) this.#say('changed')
    this.#changed = true
  }

  /** Frames of question and answer begin and end alike: only where more than half is the same, it is an echo. */
  #isProven(): boolean {
    const { length } = this.#held
    if (this.#same * 2 <= length) return false
    this.#seen = true
    if (this.#same < length) this.#sayChanged()
    this.#held = []
    this.#same = 0
    return true
  }

  #noEcho(): Uint8Array {
    const held = Uint8Array.from(this.#held)
    this.forget()
    if (++this.#instead === 1) this.#say('no-echo')
    return held
  }
}

function joined(first: Uint8Array, then: Uint8Array): Uint8Array {
  if (first.length === 0) return then
  const whole = new Uint8Array(first.length + then.length)
  whole.set(first)
  whole.set(then, first.length)
  return whole
}

/** So often must exactly what was sent come back, before a line that should not is taken for one wire. */
const PROOF = 2
/** Nothing is watched any longer once so much was sent without it coming back. */
const WATCHED_SENDS = 16

/** Finds out whether a line without an echo has one after all; takes nothing out. */
export class EchoWatch {
  #sent: Uint8Array = NOTHING
  #at = 0
  #sends = 0
  #whole = 0
  #other = 0

  get found(): EchoSeen {
    if (this.#whole >= PROOF && this.#whole > this.#other) return 'came-back'
    return this.#other > 0 ? 'answers-only' : 'not-known'
  }

  sent(octets: Uint8Array): void {
    if (++this.#sends > WATCHED_SENDS && this.#whole === 0) this.#sent = NOTHING
    else this.#sent = octets.slice()
    this.#at = 0
  }

  heard(octets: Uint8Array): void {
    for (let i = 0; i < octets.length && this.#at < this.#sent.length; i++, this.#at++) {
      if (octets[i] !== this.#sent[this.#at]) {
        this.#other++
        this.#sent = NOTHING
      } else if (this.#at === this.#sent.length - 1) this.#whole++
    }
  }
}
