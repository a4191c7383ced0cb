import type { Effect, EffectResult, Procedure } from '../procedure/effects.ts'
import { oneByOne } from '../procedure/series.ts'
import type { VirtualCard } from './card.ts'
import { type Kernel, msToNs } from './kernel.ts'
import type { Line } from './line.ts'
import type { PortBuffer } from './port.ts'
import type { TraceRecorder } from './trace.ts'

/**
 * Answers a procedure's effects from the simulation. Time moves only here: while something is sent, waited for or
 * stored, the kernel lets the devices live.
 */
export interface RunnerParts {
  readonly kernel: Kernel
  readonly trace: TraceRecorder
  readonly line: Line
  readonly party: number
  readonly port: PortBuffer
  readonly card: VirtualCard
  /** The radio's word on opening the line: a broken rule, or undefined. */
  readonly mayOpen: () => { rule: string; text: string } | undefined
  readonly beforeEffect: (index: number) => void
  readonly onOpen: () => void
  /** A file on the card has got its final name. */
  readonly onStaged: () => void
}

const DONE: EffectResult = { got: 'done' }
const TIMEOUT: EffectResult = { got: 'timeout' }
/** A radio finishes the telemetry slot that it is in before it gives the line away. */
const HAND_OVER_MS = 15
/** Nothing that is rehearsed takes longer; a procedure that does has run away. */
const LONGEST_MS = 4 * 3600 * 1000

export class VirtualRunner {
  /** Set when the radio itself has gone: nobody carries the procedure on. */
  stopped = false
  effects = 0
  private readonly p: RunnerParts

  constructor(parts: RunnerParts) {
    this.p = parts
  }

  /** @returns what the procedure returns, or undefined when the radio died under it */
  run<R>(procedure: Procedure<R>): R | undefined {
    let input: EffectResult = DONE
    for (;;) {
      const step = procedure.next(input)
      if (step.done) return step.value
      this.p.beforeEffect(this.effects++)
      input = this.answer(step.value)
      if (this.stopped) return undefined
      if (this.p.kernel.nowNs > msToNs(LONGEST_MS))
        throw new Error('a rehearsal ran for more than four hours of its own time')
    }
  }

  private answer(effect: Effect): EffectResult {
    switch (effect.do) {
      case 'send':
        this.pass(this.p.line.sendOctets(this.p.party, effect.octets))
        return DONE
      case 'receive':
        return this.receive(effect.until, msToNs(effect.timeoutMs))
      case 'series':
        return oneByOne(effect, each => this.answer(each))
      case 'wait':
        this.pass(this.p.kernel.nowNs + msToNs(effect.ms))
        return DONE
      case 'line':
        return this.openLine(effect)
      case 'store': {
        const { result, ms } = this.p.card.ask(effect.request)
        this.pass(this.p.kernel.nowNs + msToNs(ms))
        if (effect.request.op === 'rename' && result.got === 'done') this.p.onStaged()
        return result
      }
      case 'say':
        this.p.trace.event(this.p.kernel.nowNs, effect.event)
        return DONE
    }
  }

  private openLine(asked: Extract<Effect, { do: 'line' }>): EffectResult {
    if (!this.lineHas(asked)) return { got: 'failed', why: 'no-line' }
    const refused = this.p.mayOpen()
    if (refused) return { got: 'refused', ...refused }
    this.p.onOpen()
    this.pass(this.p.kernel.nowNs + msToNs(HAND_OVER_MS))
    this.p.port.clear()
    return DONE
  }

  /** A line runs at one rate and parity. Between a radio and its module both are the radio's own business. */
  private lineHas({ baud, parity }: Extract<Effect, { do: 'line' }>): boolean {
    const { line } = this.p
    if (line.recorder.id === 'module-port') return true
    return (baud === undefined || baud === line.baud) && (parity === undefined || parity === line.parity)
  }

  private pass(untilNs: number): void {
    const { kernel } = this.p
    while (!this.stopped && kernel.nextNs <= untilNs) kernel.step()
    if (!this.stopped) kernel.runTo(untilNs)
  }

  private receive(until: (got: Uint8Array) => number | false, timeoutNs: number): EffectResult {
    const { kernel, port } = this.p
    const deadlineNs = kernel.nowNs + timeoutNs
    let seen = -1
    while (!this.stopped) {
      if (port.length !== seen && port.length > 0) {
        const taken = until(port.view)
        if (taken !== false) return { got: 'octets', octets: port.take(taken) }
      }
      seen = port.length
      if (kernel.nextNs > deadlineNs) {
        kernel.runTo(deadlineNs)
        return TIMEOUT
      }
      kernel.step()
    }
    return TIMEOUT
  }
}
