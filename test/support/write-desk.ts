import { onTestFinished } from 'vitest'
import { Emulator, type EmulatorOptions } from '../../main/serial/emulator.ts'
import { Ports } from '../../main/serial/list.ts'
import { openPort } from '../../main/serial/open-port.ts'
import type { OpenPort } from '../../main/serial/port.ts'
import { PortsFile } from '../../main/serial/ports-file.ts'
import { type DeskEnv, WriteDesk } from '../../main/serial/write-desk.ts'
import { DialectFiles } from '../../main/store/dialect-files.ts'
import { Logbook } from '../../main/store/logbook.ts'
import { simulateHere } from '../../main/work/simulate.ts'
import type { LaneReport } from '../../shared/bench-run/lane.ts'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import { type Emulation, layEmulation } from '../../shared/rehearse/emulate.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import type { ReceiverMemory } from '../../shared/sim/memory.ts'
import { writeReceiverState } from '../../shared/sim/receiver-state.ts'
import { testFolder } from './folder.ts'
import { type PtyPair, ptyPair } from './pty.ts'
import { soundAnswers } from './sound-answers.ts'
import { writePlan } from './write-plan.ts'

/** A desk with a data folder of its own, and emulated receivers at pairs of ports. */

export interface TestDesk {
  readonly desk: WriteDesk
  readonly env: DeskEnv
  readonly logbook: Logbook
  readonly dataFolder: string
  readonly lanes: LaneReport[]
}

export function testDesk(change: Partial<DeskEnv> = {}): TestDesk {
  const folder = testFolder('write')
  const logbook = new Logbook(folder.path)
  const lanes: LaneReport[] = []
  const ports = new Ports(new PortsFile(folder.path))
  const env: DeskEnv = {
    ...{ dataFolder: folder.path, logbook, dialects: new DialectFiles(folder.path), ports, openPort },
    withFile: async image => image,
    simulate: simulateHere(),
    nowMs: () => performance.now(),
    date: () => new Date(),
    onLane: lane => lanes.push(lane),
    ...change,
  }
  const desk = new WriteDesk(env)
  onTestFinished(async () => {
    await desk.lanes.cancelAll()
    await logbook.close()
    folder.remove()
  })
  return { desk, env, logbook, dataFolder: folder.path, lanes }
}

export interface PlayedReceiver {
  /** The host's end. */
  readonly path: string
  readonly emulation: Emulation
  readonly emulator: Emulator
  readonly pair: PtyPair
  readonly far: OpenPort
}

export interface PlayedOptions {
  readonly plan?: WritePlan
  readonly faults?: readonly FaultChoice[]
  readonly seed?: number
  readonly memory?: ReceiverMemory
  readonly pace?: 'line' | 'unpaced'
  /** Whether the host hears itself; as on the wire of the dialect where left out. */
  readonly echo?: boolean
  readonly pair?: PtyPair
  readonly emulator?: Partial<EmulatorOptions>
}

/** The receiver of the plan, emulated at the far end of a pair of ports. */
export async function playedReceiver(options: PlayedOptions = {}): Promise<PlayedReceiver> {
  const { plan = writePlan(), faults = [], seed = 1, memory, pace = 'unpaced' } = options
  const type = plan.bench.receivers.find(r => r.id === plan.receiverId)?.typeId ?? ''
  const laid = layEmulation({
    ...{ bench: plan.bench, receiverId: plan.receiverId, dialect: plan.dialect, seed, faults, pace },
    echo: options.echo,
    ...(memory ? { state: { text: writeReceiverState(type, memory), file: 'held' } } : {}),
  })
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const emulation = laid.value
  const pair = options.pair ?? (await ptyPair())
  const far = await openPort({ kind: 'local', path: pair.b }, emulation.line)
  const emulator = new Emulator({
    port: far,
    live: emulation.live,
    talksFirst: emulation.talksFirst,
    unplugAfterMs: emulation.unplugAfterMs,
    ...options.emulator,
  })
  onTestFinished(async () => {
    await emulator.stop()
    if (options.pair === undefined) await pair.end()
  })
  return { path: pair.a, emulation, emulator, pair, far }
}

/** Adds the port to the list, rehearses, starts. */
export async function startAt(
  { desk, env }: TestDesk,
  path: string,
  plan: WritePlan = writePlan(),
  recovers?: string,
) {
  const { ports } = env
  if (ports instanceof Ports) await ports.add(path)
  const here = { ...plan, port: path }
  await desk.rehearse(here, 1)
  const { cautions } = await desk.check(here, {})
  const looked = cautions.filter(c => c.id.startsWith('rule-')).map(c => [c.id, 'so'])
  return desk.start(here, { ...soundAnswers(here), ...Object.fromEntries(looked) }, recovers)
}
