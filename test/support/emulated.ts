import { Emulator, type EmulatorOptions } from '../../main/serial/emulator.ts'
import { openPort } from '../../main/serial/open-port.ts'
import type { OpenPort } from '../../main/serial/port.ts'
import { type PortRunOptions, type RunEnd, runOnPort } from '../../main/serial/runner.ts'
import type { Procedure, SessionEvent } from '../../shared/procedure/effects.ts'
import { type Emulation, type EmulationRequest, layEmulation } from '../../shared/rehearse/emulate.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { ptyPair } from './pty.ts'
import { smallBench } from './small-bench.ts'

/** An emulated receiver at one end of a pair of ports, and this test at the other. */
export interface Emulated {
  readonly emulation: Emulation
  readonly emulator: Emulator
  /** The host's end. */
  readonly port: OpenPort
  readonly hostPath: string
  readonly events: SessionEvent[]
  /** Carries a procedure out from the host's end, with what it stores on a simulated card. */
  run<R>(procedure: Procedure<R>, more?: Partial<PortRunOptions>): Promise<RunEnd<R>>
  end(): Promise<void>
}

export const emulationRequest = (change: Partial<EmulationRequest> = {}): EmulationRequest => ({
  bench: smallBench(),
  receiverId: 'wren-trainer',
  dialect: 'preflash-bus',
  seed: 1,
  faults: [],
  echo: false,
  pace: 'unpaced',
  ...change,
})

export async function emulated(
  change: Partial<EmulationRequest> = {},
  options: Partial<EmulatorOptions> = {},
): Promise<Emulated> {
  const request = emulationRequest(change)
  const laid = layEmulation(request)
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const emulation = laid.value
  const pair = await ptyPair()
  const far = await openPort({ kind: 'local', path: pair.b }, emulation.line)
  const port = await openPort({ kind: 'local', path: pair.a }, emulation.line)
  const emulator = new Emulator({
    port: far,
    live: emulation.live,
    talksFirst: emulation.talksFirst,
    unplugAfterMs: emulation.unplugAfterMs,
    ...options,
  })
  const card = new VirtualCard(request.bench.cards[0], new TraceRecorder())
  const events: SessionEvent[] = []
  return {
    emulation,
    emulator,
    port,
    hostPath: pair.a,
    events,
    run: (procedure, more = {}) =>
      runOnPort(procedure, {
        port,
        echo: request.echo ?? false,
        store: asked => card.ask(asked).result,
        onEvent: event => events.push(event),
        signal: new AbortController().signal,
        nowMs: () => performance.now(),
        longestMs: 60_000,
        ...more,
      }),
    end: async () => {
      await port.close()
      await emulator.stop()
      await pair.end()
    },
  }
}
