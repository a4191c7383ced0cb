import type { EchoSeen } from '../../shared/bench-run/echo-words.ts'
import type { Effect, EffectResult, Procedure, Series } from '../../shared/procedure/effects.ts'
import { PortLostError } from './port.ts'
import { type Answering, type EffectsOptions, PortEffects } from './port-effects.ts'
import { Telling, type TellingOptions } from './telling.ts'

/**
 * Answers a procedure's effects from a real port, in wall time. Nothing waits without a deadline of its own; a cancel
 * takes effect between effects and inside waits, never in the middle of what is being sent.
 */
export interface PortRunOptions extends EffectsOptions, TellingOptions {
  /** Told once at the end: what became of what was sent, whether an echo was expected or not. */
  readonly onEcho?: (seen: EchoSeen) => void
  /** Called before each effect is carried out, so that a journal can commit it; what it throws ends the run. */
  readonly before?: (effect: Effect, index: number) => void
  readonly signal: AbortSignal
  /** The whole must end within this time, in milliseconds. */
  readonly longestMs?: number
}

export type StopReason = 'cancelled' | 'port-lost' | 'overdue'
export type RunEnd<R> =
  | { readonly ended: 'returned'; readonly value: R }
  | { readonly ended: 'stopped'; readonly why: StopReason; readonly text: string }

/** As in a rehearsal: nothing takes longer, and a procedure that does has run away. */
const LONGEST_MS = 4 * 3600 * 1000
/** After a cancel a procedure may say good-bye to the device: so long, with so many effects. */
const CLEAN_UP_MS = 3000
const CLEAN_UP_EFFECTS = 100
/** So many effects without a wait, and everybody else gets a turn. */
const EFFECTS_A_TURN = 64
/** The same of messages in a series. */
const SERIES_A_TURN = EFFECTS_A_TURN / 3

const DONE: EffectResult = { got: 'done' }

/**
 * Carries a procedure on over a port. The port stays open.
 * @returns how it ended; what a device, line, cable or server can cause never rejects
 * @throws what the procedure, `before`, `store` or `onEvent` throw
 */
export const runOnPort = <R>(procedure: Procedure<R>, on: PortRunOptions): Promise<RunEnd<R>> =>
  new PortRun(procedure, on).run()

/** Ends an effect that is under way. Caught in `run` and nowhere else. */
class Interrupted extends Error {}

class PortRun<R> {
  readonly #procedure: Procedure<R>
  readonly #on: PortRunOptions
  readonly #effects: PortEffects
  readonly #telling: Telling
  #stop: { readonly why: StopReason; readonly text: string } | undefined
  #isPortGone = false
  /** Set while the procedure cleans up after a cancel: by then it has to be ready. */
  #cleanUpByMs: number | undefined
  #index = 0

  constructor(procedure: Procedure<R>, on: PortRunOptions) {
    this.#procedure = procedure
    this.#on = on
    this.#telling = new Telling(on)
    this.#effects = new PortEffects(on, {
      check: () => this.#check(),
      note: text => this.#telling.note(text),
    })
  }

  async run(): Promise<RunEnd<R>> {
    const { port, signal, longestMs = LONGEST_MS } = this.#on
    const cancel = () => this.#stopFor('cancelled', 'It was cancelled.')
    const overdue = setTimeout(
      () => this.#stopFor('overdue', 'It took far longer than it may, and was stopped.'),
      longestMs,
    )
    const endings = [
      port.onOctets(octets => this.#effects.hear(octets)),
      port.onLost(why => this.#stopFor('port-lost', why)),
      () => signal.removeEventListener('abort', cancel),
      () => clearTimeout(overdue),
      () => this.#effects.end(),
    ]
    signal.addEventListener('abort', cancel)
    if (signal.aborted) cancel()
    try {
      return await this.#carryOn()
    } finally {
      for (const end of endings) end()
      this.#on.onEcho?.(this.#effects.echoSeen)
    }
  }

  async #carryOn(): Promise<RunEnd<R>> {
    try {
      const value = await this.#toTheEnd(this.#procedure.next(DONE), Number.POSITIVE_INFINITY)
      if (value !== undefined) return { ended: 'returned', ...value }
    } catch (error) {
      if (error instanceof PortLostError) this.#stopFor('port-lost', error.message)
      else if (!(error instanceof Interrupted)) throw this.#letGo(error)
    }
    this.#telling.progress()
    const stop = this.#stop ?? { why: 'port-lost', text: 'The port has gone.' }
    await this.#cleanUp()
    return { ended: 'stopped', ...stop }
  }

  /** The procedure's `finally` runs, but what it asks for is not carried out any more. */
  #letGo(error: unknown): unknown {
    this.#procedure.return(undefined as R)
    return error
  }

  async #cleanUp(): Promise<void> {
    this.#cleanUpByMs = this.#on.nowMs() + CLEAN_UP_MS
    const step = this.#procedure.return(undefined as R)
    if (this.#isPortGone) return
    try {
      await this.#toTheEnd(step, CLEAN_UP_EFFECTS)
    } catch (error) {
      if (!(error instanceof Interrupted || error instanceof PortLostError)) throw error
    }
  }

  /** While it cleans up, only a port that has gone and the time for it end an effect. */
  #check(): void {
    const { failure } = this.#telling
    if (failure !== undefined) throw failure.error
    const by = this.#cleanUpByMs
    if (by === undefined ? this.#stop : this.#isPortGone || this.#on.nowMs() > by) throw new Interrupted()
  }

  /**
   * Answers effects until the procedure returns. What can be answered at once is, without a pass through the queue of
   * promises: from the arrival of an answer to the next write there is nothing between.
   * @returns undefined where it asks for more than so many
   */
  async #toTheEnd(from: IteratorResult<Effect, R>, most: number): Promise<{ readonly value: R } | undefined> {
    let step = from
    for (let i = 0; i < most; i++) {
      if (step.done) {
        this.#telling.progress()
        return { value: step.value }
      }
      if (++this.#effects.sinceWait >= EFFECTS_A_TURN) await this.#turn()
      const answer = this.#answer(step.value)
      step = this.#procedure.next(answer instanceof Promise ? await answer : answer)
    }
    return undefined
  }

  #answer(effect: Effect): Answering {
    if (effect.do === 'series') return this.#series(effect)
    this.#check()
    this.#on.before?.(effect, this.#index++)
    if (effect.do === 'say') {
      this.#telling.say(effect.event)
      return DONE
    }
    if (effect.do !== 'send') this.#telling.progress()
    return this.#effects.answer(effect)
  }

  /** All that is left to do when an answer has come is to hand over what was made while it was on its way. */
  async #series({ next, until, timeoutMs, wentOn }: Series): Promise<EffectResult> {
    for (let octets = next(); octets !== undefined; ) {
      if (++this.#effects.sinceWait >= SERIES_A_TURN) await this.#turn()
      const sending = this.#answer({ do: 'send', octets })
      if (sending instanceof Promise) await sending
      const following = next()
      const hearing = this.#answer({ do: 'receive', until, timeoutMs })
      const result = hearing instanceof Promise ? await hearing : hearing
      const event = result.got === 'octets' ? wentOn(result.octets) : undefined
      if (event === undefined) return result
      this.#answer({ do: 'say', event })
      octets = following
    }
    return DONE
  }

  #stopFor(why: StopReason, text: string): void {
    this.#stop ??= { why, text }
    if (why === 'port-lost') this.#isPortGone = true
    this.#effects.wake()
  }

  async #turn(): Promise<void> {
    this.#effects.sinceWait = 0
    this.#telling.progress()
    await new Promise(resolve => setImmediate(resolve))
  }
}
