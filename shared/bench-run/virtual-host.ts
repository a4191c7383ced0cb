import type { Effect, EffectResult, Procedure, SessionEvent, StoreRequest } from '../procedure/effects.ts'
import { oneByOne } from '../procedure/series.ts'
import { msToNs } from '../sim/kernel.ts'
import { PortBuffer } from '../sim/port.ts'

/** What is at the other end of the line, in simulated time. */
export interface FarEnd {
  /** When something happens next by itself, in nanoseconds; Infinity when nothing will. */
  readonly nextNs: number
  hear(octets: Uint8Array, atNs: number): void
  /** The host takes the line over. @returns false where the far end does not speak at these settings */
  begin(asked: Extract<Effect, { do: 'line' }>): boolean
  runTo(atNs: number): void
  taken(): readonly { readonly octets: Uint8Array }[]
  /** How long the host takes to say so many octets. */
  durationNs(octets: number): number
  event(atNs: number, event: SessionEvent): void
}

export interface VirtualHostOptions {
  readonly store: (request: StoreRequest) => EffectResult
  /** How late the adapter hands over what it heard, in milliseconds. */
  readonly latencyMs?: number
  /** Called before each effect; true ends it there, as a program that is killed. */
  readonly stopBefore?: (effect: Effect, index: number) => boolean
  readonly onEvent?: (event: SessionEvent, atMs: number) => void
}

/** Nothing that is rehearsed takes longer; a procedure that does has run away. */
const LONGEST_NS = 4 * 3600 * 1e9
const NS_PER_MS = 1e6

/**
 * Carries a procedure out against a simulated far end, in the time of that end: as a host does that writes at the
 * rate of the line, but without a clock, a port or waiting.
 */
export class VirtualHost {
  nowNs = 0
  effects = 0
  readonly #far: FarEnd
  readonly #o: VirtualHostOptions
  readonly #port = new PortBuffer()

  constructor(far: FarEnd, options: VirtualHostOptions) {
    this.#far = far
    this.#o = options
  }

  /** @returns undefined where it was stopped on the way */
  run<R>(procedure: Procedure<R>): { readonly value: R } | undefined {
    let input: EffectResult = { got: 'done' }
    for (;;) {
      const step = procedure.next(input)
      if (step.done) return { value: step.value }
      if (this.#o.stopBefore?.(step.value, this.effects++) || this.nowNs > LONGEST_NS) return undefined
      input = this.#answer(step.value)
    }
  }

  /** Lets the far end live on by itself. */
  wait(ms: number): void {
    this.#pass(this.nowNs + msToNs(ms))
  }

  #answer(effect: Effect): EffectResult {
    const far = this.#far
    switch (effect.do) {
      case 'send':
        far.hear(effect.octets, this.nowNs)
        this.#pass(this.nowNs + far.durationNs(effect.octets.length))
        return { got: 'done' }
      case 'series':
        return oneByOne(effect, each => this.#answer(each))
      case 'wait':
        this.#pass(this.nowNs + msToNs(effect.ms))
        return { got: 'done' }
      case 'line':
        if (!far.begin(effect)) return { got: 'failed', why: 'no-line' }
        this.#port.clear()
        return { got: 'done' }
      case 'store':
        return this.#o.store(effect.request)
      case 'say':
        far.event(this.nowNs, effect.event)
        this.#o.onEvent?.(effect.event, this.nowNs / NS_PER_MS)
        return { got: 'done' }
      case 'receive':
        return this.#receive(effect)
    }
  }

  #receive({ until, timeoutMs }: Extract<Effect, { do: 'receive' }>): EffectResult {
    const latencyNs = msToNs(this.#o.latencyMs ?? 0)
    const deadlineNs = this.nowNs + msToNs(timeoutMs)
    for (;;) {
      const taken = this.#port.length > 0 && until(this.#port.view)
      if (taken !== false) {
        // What was handed over late was late for everything that follows.
        this.#pass(this.nowNs + latencyNs)
        return { got: 'octets', octets: this.#port.take(taken) }
      }
      const { nextNs } = this.#far
      if (nextNs > deadlineNs) {
        this.#pass(deadlineNs)
        return { got: 'timeout' }
      }
      this.#pass(nextNs)
    }
  }

  #pass(untilNs: number): void {
    this.nowNs = Math.max(this.nowNs, untilNs)
    this.#far.runTo(this.nowNs)
    for (const { octets } of this.#far.taken()) this.#port.hear(octets, 0, octets.length)
  }
}
