import type { EchoSeen } from '../../shared/bench-run/echo-words.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import type { Effect, EffectResult, StoreRequest } from '../../shared/procedure/effects.ts'
import { PortBuffer } from '../../shared/sim/port.ts'
import { EchoRemoval, type EchoTrouble, EchoWatch } from './echo.ts'
import { LineClock } from './line-clock.ts'
import type { LiveTrace } from './live-trace.ts'
import { type LineSettings, type OpenPort, sameSettings } from './port.ts'
import { Waiting } from './waiting.ts'

/** One effect after another carried out on a port. What waits has a deadline, and looks each time something arrives. */

export interface EffectsOptions {
  readonly port: OpenPort
  /** The line gives back what is sent: it is half-duplex, on one wire. */
  readonly echo: boolean
  readonly store: (request: StoreRequest) => EffectResult | Promise<EffectResult>
  readonly trace?: LiveTrace
  /** A clock that never runs back, in milliseconds. */
  readonly nowMs: () => number
}

/** The run that asks for them. */
export interface AskingRun {
  /** @throws where an effect that is under way has to end */
  check(): void
  /** Something about port or line that a person should know. */
  note(text: string): void
}

/** Most effects are answered at once. */
export type Answering = EffectResult | Promise<EffectResult>

/** How late the system may wake us. */
const SCHEDULER_MS = 5
/** After we were held up ourselves, the system hands over within this time what has arrived. */
const HELD_UP_MS = 10
const MOST_HELD_UP_MS = 250
/** A device that babbles must not fill the memory; no answer that is waited for is nearly as long. */
const MOST_WAITING_OCTETS = 256 * 1024
/** How often a wait for the storage looks whether it is still wanted. */
const STORE_TURN_MS = 1000

const DONE: EffectResult = { got: 'done' }
const TIMEOUT: EffectResult = { got: 'timeout' }
const NO_LINE: EffectResult = { got: 'failed', why: 'no-line' }

const troubleWords: Readonly<Record<EchoTrouble, string>> = {
  changed: 'What was sent came back changed: somebody else spoke at the same time, or the line is disturbed.',
  missing: 'What was sent did not come back. The wire is open, or this adapter has no echo.',
  'missing-now':
    'What was sent did not come back, though it had before. A contact may be loose, or the wire was disturbed.',
  'no-echo':
    'The line does not echo what we say, where a cable with one wire was expected. Answers come all the same.',
}

export class PortEffects {
  readonly #on: EffectsOptions
  readonly #run: AskingRun
  readonly #heard = new PortBuffer()
  readonly #echo: EchoRemoval | undefined
  readonly #echoWatch = new EchoWatch()
  readonly #clock = new LineClock()
  readonly #wait: Waiting<EffectResult>
  /** Effects since it has last waited for something. */
  sinceWait = 0
  #hasSent = false
  #saidNoLines = false

  constructor(on: EffectsOptions, run: AskingRun) {
    this.#on = on
    this.#run = run
    this.#wait = new Waiting(on.nowMs)
    this.#echo = on.echo ? new EchoRemoval(trouble => this.#echoTrouble(trouble)) : undefined
  }

  /** @throws what `check` and `store` throw, PortLostError */
  answer(effect: Exclude<Effect, { do: 'say' | 'series' }>): Answering {
    switch (effect.do) {
      case 'send':
        return this.#send(effect.octets)
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

  /** Octets have arrived. */
  hear(octets: Uint8Array): void {
    if (this.#echo === undefined) this.#echoWatch.heard(octets)
    const own = this.#echo === undefined ? octets : this.#echo.pass(octets)
    if (own.length === 0) return
    this.#keep(own)
    this.#wait.wake()
  }

  #keep(own: Uint8Array): void {
    const nowMs = this.#on.nowMs()
    this.#clock.heard(nowMs)
    this.#on.trace?.heard(own, nowMs)
    const room = MOST_WAITING_OCTETS - this.#heard.length
    this.#heard.hear(own, 0, Math.min(own.length, room))
  }

  /** What has become of what was sent. */
  get echoSeen(): EchoSeen {
    return (this.#echo ?? this.#echoWatch).found
  }

  /** Something else has happened: what waits looks whether it still may. */
  wake(): void {
    this.#wait.wake()
  }

  /** No timer is left behind. */
  end(): void {
    this.#wait.end()
  }

  #send(octets: Uint8Array): Answering {
    const { port, trace, nowMs } = this.#on
    this.#hasSent = true
    const startMs = this.#clock.sent(octets.length, port.settings, nowMs())
    if (this.#echo === undefined) this.#echoWatch.sent(octets)
    else this.#echo.sent(octets)
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
    // Where nothing is in between, what is there already is there: that is not waited for.
    const lateMs = timeoutMs === 0 && port.latencyMs === 0 ? 0 : port.latencyMs + SCHEDULER_MS
    const deadlineMs = begunMs + timeoutMs + lateMs
    let seen = -1
    const look = (): EffectResult | undefined => {
      const { length } = this.#heard
      if (length !== seen && length > 0) {
        const taken = until(this.#heard.view)
        if (taken !== false) return { got: 'octets', octets: this.#heard.take(Math.min(taken, length)) }
      }
      seen = length
      this.#run.check()
      return undefined
    }
    const isHeard = () => look() ?? (port.hearSoon?.() === true ? look() : undefined)
    const giveUp = (): EffectResult => {
      const answer = this.#echo?.giveUp()
      if (answer === undefined || answer.length === 0) return TIMEOUT
      this.#keep(answer)
      return look() ?? TIMEOUT
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
      this.#run.check()
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
      this.#run.check()
      return undefined
    }
    while (!isStored) await this.#watch(look, this.#on.nowMs() + STORE_TURN_MS, () => DONE)
    return storing
  }

  #watch(
    look: () => EffectResult | undefined,
    untilMs: number,
    overdue: () => Answering,
  ): Promise<EffectResult> {
    this.sinceWait = 0
    return this.#wait.until(look, untilMs, overdue)
  }

  #echoTrouble(trouble: EchoTrouble): void {
    if (trouble === 'changed') this.#on.trace?.collided()
    this.#run.note(troubleWords[trouble])
  }

  #sayNoLines(): void {
    if (this.#saidNoLines) return
    this.#saidNoLines = true
    this.#run.note('This port has no control lines (DTR, RTS) that could be set, so they were left alone.')
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
