import type { Dialect } from '../dialect/schema.ts'
import { type Result, succeeded } from '../model/problem.ts'
import type { SessionEvent } from '../procedure/effects.ts'
import { type Emulation, type Held, layEmulation } from '../rehearse/emulate.ts'
import type { FaultChoice } from '../rehearse/report.ts'
import { msToNs } from '../sim/kernel.ts'
import type { ReceiverMemory } from '../sim/memory.ts'
import { writeReceiverState } from '../sim/receiver-state.ts'
import type { Trace } from '../sim/trace.ts'
import { builtInChosen } from './chosen.ts'
import type { PlannedWrite, ReadyWrite } from './ready.ts'
import { simBench } from './sim-bench.ts'
import type { FarEnd } from './virtual-host.ts'

/** The simulated receiver of a plan, at the far end of the line. */
export interface SimulatedEnd {
  readonly far: FarEnd
  readonly memory: ReceiverMemory
  readonly held: () => Held
  readonly trace: (endNs: number, ended: 'done' | 'failed' | 'broken-off') => Trace
}

export interface SimulatedOptions {
  readonly seed: number
  readonly faults?: readonly FaultChoice[]
  /** What it holds to begin with; what the bench says where left out. */
  readonly memory?: ReceiverMemory
}

/** A receiver has been on for a while before anybody writes to it. */
const SWITCHED_ON_MS = 1000

/** Built-in dialects have receivers of their own, which speak at the usual rate; any other is made from the same data. */
function playedAs({ chosen, line }: ReadyWrite): string | Dialect {
  if (chosen.kind === 'bus') return chosen.name
  const [usual, ...others] = chosen.dialect.line.baud
  if (line.baud === usual) return builtInChosen(chosen.name) ? chosen.name : chosen.dialect
  const baud = [line.baud, usual, ...others.filter(rate => rate !== line.baud)]
  return { ...chosen.dialect, line: { ...chosen.dialect.line, baud } }
}

/** Odd parity is played as even: it takes the same time. */
const hasParity = (parity: string): boolean => parity !== 'none'

/** @returns problems where the receiver, or a fault, cannot be laid on a table */
export function simulatedEnd(planned: PlannedWrite, options: SimulatedOptions): Result<SimulatedEnd> {
  const { plan, type, ready } = planned
  const laid = layEmulation({
    bench: simBench(plan),
    receiverId: plan.receiverId,
    dialect: playedAs(ready),
    seed: options.seed,
    faults: options.faults ?? [],
    echo: false,
    pace: 'line',
    ...(options.memory
      ? { state: { text: writeReceiverState(type.id, options.memory), file: 'receiver' } }
      : {}),
  })
  if (!laid.ok) return laid
  const { live, memory, held } = laid.value
  live.runTo(msToNs(SWITCHED_ON_MS))
  live.taken()
  return succeeded({
    far: new LiveFarEnd(laid.value, live.nowNs),
    memory,
    held,
    trace: traceOf(laid.value, live.nowNs),
  })
}

const traceOf =
  ({ live }: Emulation, begunNs: number): SimulatedEnd['trace'] =>
  (endNs, ended) => {
    const { trace } = live.device
    trace.closePhase(endNs + begunNs, ended)
    return later(trace.done(endNs + begunNs), begunNs)
  }

/** The trace from a moment on, which is 0 in it; what was before happened just then. */
function later(trace: Trace, fromNs: number): Trace {
  const at = (ns: number) => Math.max(0, ns - fromNs)
  const { flash, supply, progress } = trace
  return {
    endNs: at(trace.endNs),
    lanes: trace.lanes.map(lane => ({
      ...lane,
      startNs: lane.startNs.map(at),
      heard: lane.heard.map(heard => ({ ...heard, atNs: at(heard.atNs) })),
    })),
    flash: { ...flash, startNs: flash.startNs.map(at), endNs: flash.endNs.map(at) },
    supply: { ...supply, atNs: supply.atNs.map(at) },
    progress: { ...progress, atNs: progress.atNs.map(at) },
    phases: trace.phases.map(p => ({ ...p, startNs: at(p.startNs), endNs: at(p.endNs) })),
    devices: trace.devices.map(d => ({ ...d, atNs: at(d.atNs) })),
    events: trace.events.map(e => ({ ...e, atNs: at(e.atNs) })),
  }
}

/** A live table, whose time began a moment before the host's. */
class LiveFarEnd implements FarEnd {
  readonly #live: Emulation['live']
  readonly #begunNs: number

  constructor({ live }: Emulation, begunNs: number) {
    this.#live = live
    this.#begunNs = begunNs
  }

  get nextNs(): number {
    return this.#live.nextNs - this.#begunNs
  }
  hear(octets: Uint8Array, atNs: number): void {
    this.#live.hear(octets, atNs + this.#begunNs)
  }
  begin({ baud, parity }: Parameters<FarEnd['begin']>[0]): boolean {
    const { line } = this.#live.device
    const isSame =
      (baud ?? line.baud) === line.baud && hasParity(parity ?? line.parity) === hasParity(line.parity)
    if (isSame) this.#live.begin()
    return isSame
  }
  runTo(atNs: number): void {
    this.#live.runTo(atNs + this.#begunNs)
  }
  taken() {
    return this.#live.taken()
  }
  durationNs(octets: number): number {
    return this.#live.device.line.durationNs(octets)
  }
  event(atNs: number, event: SessionEvent): void {
    this.#live.device.trace.event(atNs + this.#begunNs, event)
  }
}
