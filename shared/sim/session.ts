import { firstBroken } from '../fit/rules.ts'
import type { ImageFacts } from '../fit/situation.ts'
import type { Procedure } from '../procedure/effects.ts'
import { VirtualCard } from './card.ts'
import { type Actor, msToNs } from './kernel.ts'
import type { ReceiverMemory } from './memory.ts'
import { PortBuffer } from './port.ts'
import { VirtualRunner } from './runner.ts'
import { Table } from './table.ts'
import type { Standing, Trace } from './trace.ts'
import type { Setup } from './world.ts'

/** One session: a procedure carried out by the radio on a table, with the card that it reads from. */

const RADIO_OWN_MILLIAMPS = 180

const HAPPENS = { cardPulled: 1, radioDies: 2 } as const

export interface SessionEnd<R> {
  /** Undefined when the radio died under the procedure. */
  readonly result: R | undefined
  readonly radioDied: boolean
  readonly trace: Trace
  readonly endNs: number
  readonly effects: number
  readonly flashOperations: number
}

export interface SessionOptions {
  readonly setup: Setup
  readonly seed: number
  readonly memory: ReceiverMemory
  /** What is on the card, for the rules that radio and module stand by. */
  readonly image: ImageFacts
  /** Called when a file on the card has got its final name: what faults do to it then. */
  readonly onStaged: (card: VirtualCard) => void
  /** Is told before each effect how far the session is; what it throws breaks the session off. */
  readonly watch?: (moment: Moment) => void
}

/** How far a session is while it is worked out. */
export interface Moment {
  /** The session's own time since its start, in milliseconds. */
  readonly simulatedMs: number
  /** Undefined between phases. */
  readonly standing: Standing | undefined
}

/** @throws ProblemError when the receiver or its type is not on the bench */
export function runSession<R>(options: SessionOptions, procedure: Procedure<R>): SessionEnd<R> {
  return new Session(options).run(procedure)
}

class Session implements Actor {
  private readonly port = new PortBuffer()
  private readonly table: Table
  private readonly card: VirtualCard
  private readonly runner: VirtualRunner
  private readonly o: SessionOptions

  constructor(options: SessionOptions) {
    this.o = options
    this.table = new Table({ ...options, host: { name: 'radio', listener: this.port } })
    this.card = new VirtualCard(this.table.situation.card, this.table.trace)
    this.runner = this.makeRunner()
    this.table.layCable()
  }

  run<R>(procedure: Procedure<R>): SessionEnd<R> {
    const { table, runner } = this
    this.schedule()
    table.switchOn()
    const result = runner.run(procedure)
    const endNs = table.kernel.nowNs
    table.trace.closePhase(endNs, result === undefined ? 'broken-off' : 'done')
    return {
      result,
      radioDied: runner.stopped,
      trace: table.trace.done(endNs),
      endNs,
      effects: runner.effects,
      flashOperations: table.flasher.operations,
    }
  }

  wake(code: number): void {
    if (code === HAPPENS.cardPulled) this.card.pull(this.table.kernel.nowNs)
    else if (code === HAPPENS.radioDies) this.radioDies()
  }

  private makeRunner(): VirtualRunner {
    const { table } = this
    const { cut } = this.o.setup.world
    return new VirtualRunner({
      kernel: table.kernel,
      trace: table.trace,
      line: table.line,
      party: table.party,
      port: this.port,
      card: this.card,
      mayOpen: () => {
        const finding = firstBroken(table.situation, 'radio')
        return finding && { rule: finding.rule.id, text: finding.sentence }
      },
      beforeEffect: index => {
        this.o.watch?.({ simulatedMs: table.kernel.nowNs / 1e6, standing: table.trace.standing })
        if (cut?.at === 'effect' && cut.index === index) table.powerCut()
      },
      onOpen: () => table.handOver(),
      onStaged: () => this.o.onStaged(this.card),
    })
  }

  private schedule(): void {
    const { kernel } = this.table
    const at = (ms: number | undefined, code: number) => {
      if (ms !== undefined) kernel.at(msToNs(ms), this, code)
    }
    this.table.schedule()
    at(this.o.setup.world.cardPulledAtMs, HAPPENS.cardPulled)
    at(this.batteryEndsAtMs(), HAPPENS.radioDies)
  }

  /** When the battery, under the radio's and the module's load, falls to where the radio switches itself off. */
  private batteryEndsAtMs(): number | undefined {
    const { radio, radioType, moduleType } = this.table.situation
    const { world, route } = this.o.setup
    if (radio === undefined || radioType === undefined) return undefined
    const milliamps = RADIO_OWN_MILLIAMPS + (route === 'wireless' ? (moduleType?.drawMilliamps ?? 0) : 0)
    const underLoad = radio.batteryVolts - (milliamps / 1000) * radioType.battery.internalOhms
    const spare = underLoad - radioType.battery.cutOffVolts
    if (spare <= 0) return 0
    return world.batteryVoltsPerMinute > 0 ? (spare / world.batteryVoltsPerMinute) * 60_000 : undefined
  }

  private radioDies(): void {
    const { table } = this
    table.fault('radio-battery-low', 'The battery of the radio is empty: the radio switched itself off.')
    table.trace.device(table.kernel.nowNs, 'radio', 'off: battery empty', false)
    table.poller?.stop()
    if (table.feed.throughCable) table.rail.cut('the radio that fed it went off')
    this.runner.stopped = true
  }
}
