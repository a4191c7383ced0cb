import type { Effect, EffectResult, Procedure } from '../../shared/procedure/effects.ts'
import { oneByOne } from '../../shared/procedure/series.ts'
import type { VirtualCard } from '../../shared/sim/card.ts'
import { msToNs } from '../../shared/sim/kernel.ts'
import type { Live } from '../../shared/sim/live.ts'
import { PortBuffer } from '../../shared/sim/port.ts'

/** What a radio takes to give the line away, as the virtual runner has it. */
const HAND_OVER_MS = 15

/**
 * Carries a procedure out against a live table, in the table's own time: as a host does that writes at the rate of
 * the line, but without a clock, a port or waiting.
 */
export class LiveLoop {
  nowNs = 0
  onStaged: (card: VirtualCard) => void = () => {}
  private readonly live: Live
  private readonly card: VirtualCard
  private readonly port = new PortBuffer()

  constructor(live: Live, card: VirtualCard) {
    this.live = live
    this.card = card
  }

  run<R>(procedure: Procedure<R>): R {
    let input: EffectResult = { got: 'done' }
    for (;;) {
      const step = procedure.next(input)
      if (step.done) return step.value
      input = this.answer(step.value)
    }
  }

  private answer(effect: Effect): EffectResult {
    const { live } = this
    switch (effect.do) {
      case 'send':
        live.hear(effect.octets, this.nowNs)
        this.pass(this.nowNs + live.device.line.durationNs(effect.octets.length))
        return { got: 'done' }
      case 'series':
        return oneByOne(effect, each => this.answer(each))
      case 'wait':
        this.pass(this.nowNs + msToNs(effect.ms))
        return { got: 'done' }
      case 'line':
        live.begin()
        this.pass(this.nowNs + msToNs(HAND_OVER_MS))
        this.port.clear()
        return { got: 'done' }
      case 'store': {
        const { result, ms } = this.card.ask(effect.request)
        this.pass(this.nowNs + msToNs(ms))
        if (effect.request.op === 'rename' && result.got === 'done') this.onStaged(this.card)
        return result
      }
      case 'say':
        live.device.trace.event(this.nowNs, effect.event)
        return { got: 'done' }
      case 'receive':
        return this.receive(effect)
    }
  }

  private receive({ until, timeoutMs }: Extract<Effect, { do: 'receive' }>): EffectResult {
    const deadlineNs = this.nowNs + msToNs(timeoutMs)
    for (;;) {
      const taken = this.port.length > 0 && until(this.port.view)
      if (taken !== false) return { got: 'octets', octets: this.port.take(taken) }
      const { nextNs } = this.live
      if (nextNs > deadlineNs) {
        this.pass(deadlineNs)
        return { got: 'timeout' }
      }
      this.pass(nextNs)
    }
  }

  private pass(untilNs: number): void {
    this.nowNs = untilNs
    this.live.runTo(untilNs)
    for (const { octets } of this.live.taken()) this.port.hear(octets, 0, octets.length)
  }
}
