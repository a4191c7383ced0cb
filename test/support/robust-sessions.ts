import { Emulator } from '../../main/serial/emulator.ts'
import { Ports } from '../../main/serial/list.ts'
import { openPort } from '../../main/serial/open-port.ts'
import { PortsFile } from '../../main/serial/ports-file.ts'
import { WriteDesk } from '../../main/serial/write-desk.ts'
import { DialectFiles } from '../../main/store/dialect-files.ts'
import { Logbook } from '../../main/store/logbook.ts'
import { simulateHere } from '../../main/work/simulate.ts'
import { builtInChosen, type Chosen, chosenData } from '../../shared/bench-run/chosen.ts'
import type { WriteEnding } from '../../shared/bench-run/lane.ts'
import { planToJson } from '../../shared/bench-run/plan-json.ts'
import { type PlannedWrite, planWrite } from '../../shared/bench-run/ready.ts'
import { holdsImage } from '../../shared/bench-run/rehearse-write.ts'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import { layEmulation } from '../../shared/rehearse/emulate.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import { memoryOf } from '../../shared/rehearse/table.ts'
import { type Dice, dice } from '../../shared/sim/dice.ts'
import { type ReceiverMemory, startable } from '../../shared/sim/memory.ts'
import { ptyPair } from './pty.ts'
import { serialBench, serialPlan, versionedImage } from './serial-bench.ts'
import { writePlan } from './write-plan.ts'

/** Sessions over pairs of ports in which something goes wrong at random, and what must be true of each of them. */

/** With waits that a test can wait for. */
function quick(name: string): Chosen {
  const made = builtInDialects().get(name) as Dialect
  const { timings } = made
  return chosenData({
    ...made,
    name: `${name}-quick`,
    timings: { ...timings, start: { ms: 4000 }, answer: { ms: 800 }, poll: { ms: 300 } },
    retries: { ...made.retries, request: 4, silent: 2, pauseMs: 300 },
  })
}

const DIALECTS = [
  'preflash-bus',
  'preflash-bus',
  'st-an3155',
  'tamsin-dart',
  'tamsin-twig',
  'xmodem-crc',
  'ymodem',
]

const bench = serialBench()
const plannedBy = new Map<string, PlannedWrite>()

function planned(name: string): PlannedWrite {
  const known = plannedBy.get(name)
  if (known) return known
  const isX = name === 'xmodem-crc' || name === 'ymodem'
  const chosen = isX ? quick(name) : builtInChosen(name)
  const plan =
    name === 'preflash-bus' ? writePlan() : serialPlan(name, { bench, image: versionedImage(4000) })
  const made = chosen && planWrite(plan, chosen)
  if (!made?.ok) throw new Error(`no plan by ${name}`)
  plannedBy.set(name, made.value)
  return made.value
}

interface Mishap {
  readonly faults: FaultChoice[]
  readonly cancelAfterMs: number | undefined
  readonly hangUpAfterMs: number | undefined
}

const between = (draw: Dice, least: number, most: number) => draw.between(least, most)

function mishap(draw: Dice): Mishap {
  const seconds = between(draw, 0, 1.2).toFixed(3)
  const none = { faults: [], cancelAfterMs: undefined, hangUpAfterMs: undefined }
  const faults = (name: string, value?: string): Mishap => ({
    ...none,
    faults: [value === undefined ? { name } : { name, value }],
  })
  switch (Math.floor(between(draw, 0, 10))) {
    case 0:
      return faults('power-cut', seconds)
    case 1:
      return faults('cut-at-block', String(Math.floor(between(draw, 1, 60))))
    case 2:
      return faults('line-noise')
    case 3:
      return faults('stall', `${seconds}+${between(draw, 0.1, 2).toFixed(2)}`)
    case 4:
      return faults('unplug', seconds)
    case 5:
      return faults('cable-loose', seconds)
    case 6:
      return faults('first-write-fails')
    case 7:
      return { ...none, hangUpAfterMs: between(draw, 0, 1200) }
    case 8:
      return { ...none, cancelAfterMs: between(draw, 0, 1200) }
    default:
      return { ...faults('line-noise'), cancelAfterMs: between(draw, 0, 1200) }
  }
}

export interface RobustEnd {
  readonly what: string
  readonly outcome: string
  readonly state: string
  /** What was not as it must be; empty where all was. */
  readonly wrong: readonly string[]
}

const SESSION_MS = 120_000

/** A desk for many sessions; its folder is the caller's. @param simulate where it rehearses */
export function robustDesk(folder: string, simulate = simulateHere()) {
  const logbook = new Logbook(folder)
  const desk = new WriteDesk({
    ...{ dataFolder: folder, logbook, openPort, onLane: () => {} },
    dialects: new DialectFiles(folder),
    ports: new Ports(new PortsFile(folder)),
    withFile: async image => image,
    simulate,
    nowMs: () => performance.now(),
    date: () => new Date(),
  })
  return { desk, logbook }
}
export type RobustDesk = ReturnType<typeof robustDesk>

export async function robustSession({ desk, logbook }: RobustDesk, seed: number): Promise<RobustEnd> {
  const draw = dice(seed, 'robust')
  const name = DIALECTS[Math.floor(between(draw, 0, DIALECTS.length))]
  const write = planned(name)
  const { faults, cancelAfterMs, hangUpAfterMs } = mishap(draw)
  const laid = layEmulation({
    ...{ bench: write.plan.bench, receiverId: write.unit.id, dialect: name, seed, faults, pace: 'unpaced' },
    echo: write.ready.echo,
  })
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const { live, memory, line, talksFirst, unplugAfterMs } = laid.value
  const what = `${name}, seed ${seed}: ${JSON.stringify({ faults, cancelAfterMs, hangUpAfterMs })}`
  const pair = await ptyPair()
  const emulator = new Emulator({
    port: await openPort({ kind: 'local', path: pair.b }, line),
    ...{ live, talksFirst, unplugAfterMs },
  })
  const timers: NodeJS.Timeout[] = []
  try {
    const { lane, ended } = await desk.startWish({
      ready: write.ready,
      port: { key: pair.a, label: pair.a, place: { kind: 'local', path: pair.a } },
      planned: planToJson(write.plan, write.ready.chosen),
      ...{ rehearsed: null, recovers: undefined, afterwards: [] },
    })
    const after = (ms: number | undefined, act: () => void) => {
      if (ms !== undefined) timers.push(setTimeout(act, ms))
    }
    after(cancelAfterMs, () => desk.lanes.cancel(lane))
    after(hangUpAfterMs, () => void pair.hangUp())
    // The port that is closed by the emulator shows itself to us only where the pair goes with it.
    void emulator.ended.then(e => (e.why === 'unplugged' ? pair.hangUp() : undefined))
    const end = await Promise.race([ended, tooLong(timers)])
    if (end === undefined) return { what, outcome: 'hangs', state: '', wrong: ['it hangs'] }
    const sessionId = desk.lanes.report(lane)?.sessionId ?? ''
    desk.lanes.dismiss(lane)
    const { session, events } = await logbook.use(journal => journal.session(sessionId))
    return {
      ...{ what, outcome: end.outcome, state: end.state },
      wrong: [
        ...untrue(write, memory, end),
        ...(session.ending === null ? ['the logbook says that it goes on'] : []),
        ...(session.outcome === 'updated' && end.outcome !== 'updated' ? ['the logbook says updated'] : []),
        ...(events.some(({ event }) => event.kind === 'state') ? [] : ['the logbook has no last state']),
        ...(events.every(({ seq }, i) => seq === i + 1) ? [] : ['events are missing']),
      ],
    }
  } finally {
    for (const timer of timers) clearTimeout(timer)
    await emulator.stop()
    await pair.end()
  }
}

const tooLong = (timers: NodeJS.Timeout[]): Promise<undefined> =>
  new Promise(resolve => {
    timers.push(setTimeout(() => resolve(undefined), SESSION_MS))
  })

/** What is said of the receiver, against what is really in its flash. */
export function untrue(write: PlannedWrite, memory: ReceiverMemory, end: WriteEnding): string[] {
  const { outcome, state, proof } = end
  const holds = holdsImage(memory, write)
  const before = memoryOf(write.plan.bench, write.type, write.unit)
  const unchanged = memory.program.octets.every((octet, i) => octet === before.program.octets[i])
  const wrong: string[] = []
  if (outcome === 'updated' && !(holds && startable(memory) !== undefined)) wrong.push('a false "updated"')
  if (outcome === 'unproven' && !holds) wrong.push('accepted, but the image is not in the flash')
  if (proof.verified !== 'none' && !holds) wrong.push('verified, but the image is not in the flash')
  if (state === 'runs-new' && outcome !== 'updated') wrong.push('"runs-new" without having been updated')
  if (state === 'as-before' && !unchanged) wrong.push('"as before", but it was changed')
  if ((state === 'in-boot-loader' || state === 'partly-written') && startable(memory) !== undefined)
    wrong.push(`"${state}", but it would start`)
  if (state === 'written-not-proven' && !holds) wrong.push('"written", but the image is not in the flash')
  return wrong
}
