import { Emulator, type EmulatorOptions } from '../../main/serial/emulator.ts'
import { openPort } from '../../main/serial/open-port.ts'
import { demoBench, demoDefaults } from '../../shared/demo/bench.ts'
import { type Emulation, type EmulationRequest, layEmulation } from '../../shared/rehearse/emulate.ts'
import { type PtyPair, ptyPair } from './pty.ts'

/** A receiver of the demo bench at the far end of a pair of ports; the workbench is told the near end. */
export interface BenchEmulator {
  /** What is typed into the workbench. */
  readonly path: string
  readonly emulation: Emulation
  readonly emulator: Emulator
  /** Pulls the cable: the port itself goes away. */
  pull(): Promise<void>
  end(): Promise<void>
}

/** @param on an end of a pair that is there already: the same receiver's port, plugged in again */
export async function benchEmulator(
  change: Partial<EmulationRequest> = {},
  options: Partial<EmulatorOptions> = {},
): Promise<BenchEmulator> {
  const laid = layEmulation({
    ...{ bench: demoBench(), receiverId: demoDefaults.receiverId, dialect: 'preflash-bus', seed: 1 },
    ...{ faults: [], echo: true, pace: 'unpaced' as const, ...change },
  })
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const emulation = laid.value
  const pair: PtyPair = await ptyPair()
  const port = await openPort({ kind: 'local', path: pair.b }, emulation.line)
  const emulator = new Emulator({
    ...{ port, live: emulation.live, talksFirst: emulation.talksFirst },
    unplugAfterMs: emulation.unplugAfterMs,
    ...options,
  })
  return {
    ...{ path: pair.a, emulation, emulator },
    pull: async () => {
      await pair.hangUp()
    },
    end: async () => {
      await emulator.stop()
      await pair.end()
    },
  }
}
