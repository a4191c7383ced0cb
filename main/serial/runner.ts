import { ProblemError } from '../../shared/model/problem.ts'
import type {
  Effect,
  EffectResult,
  Procedure,
  SessionEvent,
  StoreRequest,
} from '../../shared/procedure/effects.ts'
import { PortBuffer } from '../../shared/sim/port.ts'
import { EchoRemoval, type EchoTrouble } from './echo.ts'
import { LineClock } from './line-clock.ts'
import type { LiveTrace } from './live-trace.ts'
import { type LineSettings, type OpenPort, PortLostError, sameSettings } from './port.ts'
import { Waiting } from './waiting.ts'

/**
 * Answers a procedure's effects from a real port, in wall time. Nothing waits without a deadline of its own; a cancel
 * takes effect between effects and inside waits, never in the middle of what is being sent.
 */
export interface PortRunOptions {
  readonly port: OpenPort
  /** The line gives back what is sent: it is half-duplex, on one wire. */
  readonly echo: boolean
  readonly store: (request: StoreRequest) => EffectResult | Promise<EffectResult>
  /** Called before each effect is carried out, so that a journal can commit it; what it throws ends the run. */
  readonly before?: (effect: Effect, index: number) => void
  /** @param atMs on the clock `nowMs` */
  readonly onEvent: (event: SessionEvent, atMs: number) => void
  readonly trace?: LiveTrace
  readonly signal: AbortSignal
  /** A clock that never runs back, in milliseconds. */
  readonly nowMs: () => number
  /** The whole must end within this time, in milliseconds. */
  readonly longestMs?: number
}

export type StopReason = 'cancelled' | 'port-lost' | 'overdue'
export type RunEnd<R> =
  | { readonly ended: 'returned'; readonly value: R }
  | { readonly ended: 'stopped'; readonly why: StopReason; readonly text: string }

/** As in a rehearsal: nothing takes longer, and a procedure that does has run away. */
const LONGEST_MS = 4 * 3600 * 1000
/** How late the system may wake us. */
const SCHEDULER_MS = 5
/** After we were held up ourselves, the system hands over within this time what has arrived. */
const HELD_UP_MS = 10
const MOST_HELD_UP_MS = 250
/** After a cancel a procedure may say good-bye to the device: so long, with so many effects. */
const CLEAN_UP_MS = 3000
const CLEAN_UP_EFFECTS = 100
/** So many effects without a wait, and everybody else gets a turn. */
const EFFECTS_A_TURN = 64
/** A device that babbles must not fill the memory; no answer that is waited for is nearly as long. */
const MOST_WAITING_OCTETS = 256 * 1024
const MOST_NOTES = 20
/** How often a wait for the storage looks whether it is still wanted. */
const STORE_TURN_MS = 1000

const DONE: EffectResult = { got: 'done' }
const TIMEOUT: EffectResult = { got: 'timeout' }
const NO_LINE: EffectResult = { got: 'failed', why: 'no-line' }

const troubleWords: Readonly<Record<EchoTrouble, string>> = {
  changed: 'What was sent came back changed: somebody else spoke at the same time, or the line is disturbed.',
  missing: 'What was sent did not come back. The wire is open, or this adapter has no echo.',
}

/**
 * Carries a procedure on over a port. The port stays open.
 * @returns how it ended; what a device, line, cable or server can cause never rejects
 * @throws what the procedure, `before`, `store` or `onEvent` throw
 */
export const runOnPort = <R>(procedure: Procedure<R>, on: PortRunOptions): Promise<RunEnd<R>> =>
  new PortRun(procedure, on).run()

/** Most effects are answered at once. */
type Answering = EffectResult | Promise<EffectResult>

/** Ends an effect that is under way. Caught in `run` and nowhere else. */
class Interrupted extends Error {}

class PortRun<R> {
  readonly #procedure: Procedure<R>
  readonly #on: PortRunOptions
  readonly #heard = new PortBuffer()
  readonly #echo: EchoRemoval | undefined
  #stop: { readonly why: StopReason; readonly text: string } | undefined
  #isPortGone = false
  #hasSent = false
  /** What a listener of ours threw while the port was telling something. */
  #failure: { readonly error: unknown } | undefined
  readonly #wait: Waiting<EffectResult>
  /** Progress that is told when there is time for it. */
  #untold: { readonly event: SessionEvent; readonly atMs: number }[] = []
  readonly #clock = new LineClock()
  /** Set while the procedure cleans up after a cancel: by then it has to be ready. */
  #cleanUpByMs: number | undefined
  #effects = 0
  #effectsThisTurn = 0
  #notes = 0
  #saidNoLines = false

  constructor(procedure: Procedure<R>, on: PortRunOptions) {
    this.#procedure = procedure
    this.#on = on
    this.#wait = new Waiting(on.nowMs)
    this.#echo = on.echo ? new EchoRemoval(trouble => this.#echoTrouble(trouble)) : undefined
  }

  async run(): Promise<RunEnd<R>> {
    const { port, signal, longestMs = LONGEST_MS } = this.#on
    const cancel = () => this.#stopFor('cancelled', 'It was cancelled.')
    const overdue = setTimeout(
      () => this.#stopFor('overdue', 'It took far longer than it may, and was stopped.'),
      longestMs,
    )
    const endings = [
      port.onOctets(octets => this.#hear(octets)),
      port.onLost(why => this.#stopFor('port-lost', why)),
      () => signal.removeEventListener('abort', cancel),
      () => clearTimeout(overdue),
      () => this.#wait.end(),
    ]
    signal.addEventListener('abort', cancel)
    if (signal.aborted) cancel()
    try {
      return await this.#carryOn()
    } finally {
      for (const end of endings) end()
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
    this.#tellProgress()
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
    if (this.#failure !== undefined) throw this.#failure.error
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
        this.#tellProgress()
        return { value: step.value }
      }
      if (++this.#effectsThisTurn >= EFFECTS_A_TURN) await this.#turn()
      const answer = this.#answer(step.value)
      step = this.#procedure.next(answer instanceof Promise ? await answer : answer)
    }
    return undefined
  }

  #answer(effect: Effect): Answering {
    this.#check()
    this.#on.before?.(effect, this.#effects++)
    if (effect.do === 'say') return this.#say(effect.event)
    if (effect.do === 'send') return this.#send(effect.octets)
    this.#tellProgress()
    switch (effect.do) {
      case 'receive':
        return this.#receive(effect.until, effect.timeoutMs)
      case 'wait':
        return this.#pause(effect.ms)
      case 'line':
        return this.#line(effect)
      case 'store':
        return this.#store(effect.request)
    }
  }

  #send(octets: Uint8Array): Answering {
    const { port, trace, nowMs } = this.#on
    this.#hasSent = true
    const startMs = this.#clock.sent(octets.length, port.settings, nowMs())
    this.#echo?.sent(octets)
    let done = 0
    try {
      done = port.writeNow?.(octets) ?? 0
    } finally {
      trace?.sent(octets, startMs)
    }
    // A procedure may use its octets again while these are still on their way.
    return done === octets.length ? DONE : port.write(octets.slice(done)).then(() => DONE)
  }

  #receive(until: (got: Uint8Array) => number | false, timeoutMs: number): Answering {
    const { port, nowMs } = this.#on
    const begunMs = Math.max(nowMs(), this.#clock.freeAtMs)
    const deadlineMs = begunMs + timeoutMs + port.latencyMs + SCHEDULER_MS
    let seen = -1
    const look = (): EffectResult | undefined => {
      const { length } = this.#heard
      if (length !== seen && length > 0) {
        const taken = until(this.#heard.view)
        if (taken !== false) return { got: 'octets', octets: this.#heard.take(Math.min(taken, length)) }
      }
      seen = length
      this.#check()
      return undefined
    }
    const isHeard = () => look() ?? (port.hearSoon?.() === true ? look() : undefined)
    const giveUp = (): EffectResult => {
      this.#echo?.giveUp()
      return TIMEOUT
    }
    const overdue = (): Answering => {
      if (nowMs() <= deadlineMs + SCHEDULER_MS) return giveUp()
      // This program was held up: what arrived meanwhile is not handed over yet, and not late. Whatever held it up
      // may have held up the way to the port as well.
      const moreMs = Math.max(HELD_UP_MS, Math.min(timeoutMs, MOST_HELD_UP_MS))
      return this.#watch(look, nowMs() + moreMs, giveUp)
    }
    return isHeard() ?? this.#watch(look, deadlineMs, overdue)
  }

  #pause(ms: number): Answering {
    const nowMs = this.#on.nowMs()
    const untilMs = Math.max(nowMs, this.#clock.freeAtMs) + ms
    if (untilMs <= nowMs) return DONE
    const look = () => {
      this.#check()
      return undefined
    }
    return this.#watch(look, untilMs, () => DONE)
  }

  async #line(asked: Extract<Effect, { do: 'line' }>): Promise<EffectResult> {
    const { port, trace } = this.#on
    const { baud, parity, stopBits } = { ...port.settings, ...withoutGaps(asked) }
    const moves = asked.dtr !== undefined || asked.rts !== undefined || asked.break !== undefined
    const isNew = !sameSettings(port.settings, { baud, parity, stopBits })
    try {
      await port.set({ baud, parity, stopBits })
    } catch (error) {
      if (error instanceof ProblemError) return NO_LINE
      throw error
    }
    trace?.settings(port.settings)
    // What a device says as it is reset by a control line, or said as the port was opened, is wanted.
    if (isNew || (this.#hasSent && !moves)) await port.flushInput()
    if (isNew || this.#hasSent) this.#heard.clear()
    this.#echo?.forget()
    if (moves && (await port.lines({ dtr: asked.dtr, rts: asked.rts, break: asked.break })) !== 'done')
      this.#sayNoLines()
    return DONE
  }

  async #store(request: StoreRequest): Promise<EffectResult> {
    const storing = this.#on.store(request)
    if (!(storing instanceof Promise)) return storing
    let isStored = false
    const stored = () => {
      isStored = true
      this.#wait.wake()
    }
    storing.then(stored, stored)
    const look = () => {
      if (isStored) return DONE
      this.#check()
      return undefined
    }
    while (!isStored) await this.#watch(look, this.#on.nowMs() + STORE_TURN_MS, () => DONE)
    return storing
  }

  #say(event: SessionEvent): EffectResult {
    const said = { event, atMs: this.#on.nowMs() }
    if (event.kind === 'progress') this.#untold.push(said)
    else {
      this.#tellProgress()
      this.#tell(said)
    }
    return DONE
  }

  /** There is one with each block, and the next block does not wait for it. */
  #tellProgress(): void {
    if (this.#untold.length === 0) return
    const untold = this.#untold
    this.#untold = []
    for (const said of untold) this.#tell(said)
  }

  #tell({ event, atMs }: { readonly event: SessionEvent; readonly atMs: number }): void {
    this.#on.trace?.event(event, atMs)
    this.#on.onEvent(event, atMs)
  }

  #hear(octets: Uint8Array): void {
    const own = this.#echo === undefined ? octets : this.#echo.pass(octets)
    if (own.length === 0) return
    const nowMs = this.#on.nowMs()
    this.#clock.heard(nowMs)
    this.#on.trace?.heard(own, nowMs)
    const room = MOST_WAITING_OCTETS - this.#heard.length
    this.#heard.hear(own, 0, Math.min(own.length, room))
    this.#wait.wake()
  }

  #stopFor(why: StopReason, text: string): void {
    this.#stop ??= { why, text }
    if (why === 'port-lost') this.#isPortGone = true
    this.#wait.wake()
  }

  #watch(
    look: () => EffectResult | undefined,
    untilMs: number,
    overdue: () => Answering,
  ): Promise<EffectResult> {
    this.#effectsThisTurn = 0
    return this.#wait.until(look, untilMs, overdue)
  }

  async #turn(): Promise<void> {
    this.#effectsThisTurn = 0
    this.#tellProgress()
    await new Promise(resolve => setImmediate(resolve))
  }

  #echoTrouble(trouble: EchoTrouble): void {
    if (trouble === 'changed') this.#on.trace?.collided()
    this.#note(troubleWords[trouble])
  }

  #sayNoLines(): void {
    if (this.#saidNoLines) return
    this.#saidNoLines = true
    this.#note('This port has no control lines (DTR, RTS) that could be set, so they were left alone.')
  }

  #note(text: string): void {
    if (this.#notes++ >= MOST_NOTES) return
    try {
      this.#say({ kind: 'note', level: 'caution', text })
    } catch (error) {
      this.#failure ??= { error }
    }
  }
}

/** What is not asked for stays as it is. */
function withoutGaps({ baud, parity, stopBits }: Partial<LineSettings>): Partial<LineSettings> {
  return {
    ...(baud === undefined ? {} : { baud }),
    ...(parity === undefined ? {} : { parity }),
    ...(stopBits === undefined ? {} : { stopBits }),
  }
}
