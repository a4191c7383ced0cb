import { Emulator } from '../../main/serial/emulator.ts'
import { openPort } from '../../main/serial/open-port.ts'
import { type Simulate, simulateAside, simulateHere, simulatorPool } from '../../main/work/simulate.ts'
import type { Rehearsed } from '../../shared/bench-run/check.ts'
import { rehearseWrite } from '../../shared/bench-run/rehearse-write.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { layEmulation } from '../../shared/rehearse/emulate.ts'
import { testFolder } from '../support/folder.ts'
import { needs } from '../support/needs.ts'
import { ptyPair } from '../support/pty.ts'
import { robustDesk } from '../support/robust-sessions.ts'
import { planned, writePlan } from '../support/write-plan.ts'
import { bareHost, bareSteps } from './bare-host.ts'
import type { Measured } from './table.ts'

/** What else the machine does only ever adds: the least of several is what it takes. */
const RUNS = 5

/**
 * Whole writes with everything around them (logbook, lanes, live trace) on a line that is paced at 115,200 baud, one by
 * itself and eight side by side, against the rehearsal: that is what line and protocol allow. A pair of pseudo-terminals
 * takes its time for each of the hundred exchanges, which no wire does, so what is ours is told from what a bare host
 * takes on it. And eight while 256 KiB are rehearsed again and again, in the same thread and in a worker. The emulated
 * receivers run in the same process, and take their share of it.
 */
export async function benchWriteLanes(): Promise<Measured[]> {
  if (needs('socat') === undefined)
    return [{ what: 'Whole writes', value: 'LEFT OUT: socat is not here', goal: '', reached: true }]
  const write = planned()
  const done = rehearseWrite(write)
  if (!done.ok) throw new Error(done.problems[0].message)
  const { rehearsed } = done.value
  const ones: Took[] = []
  const bares: number[] = []
  for (let i = 0; i < RUNS; i++) {
    bares.push(await bare())
    ones.push(...(await lanes(1, rehearsed)))
  }
  const one = leastOf(ones.map(({ whole }) => whole))
  const onLine = leastOf(ones.map(({ onLine }) => onLine))
  const floor = leastOf(bares)
  const eight = await lanes(8, rehearsed)
  const pool = simulatorPool(console.error)
  const aside = await lanes(8, rehearsed, simulateAside(pool))
  pool.close()
  const here = await lanes(8, rehearsed, simulateHere())
  const allowed = rehearsed.simulatedMs / 1000
  const over = (seconds: number) =>
    Number.isNaN(seconds)
      ? 'NOT MEASURED: the machine is too busy'
      : `${seconds.toFixed(2)} s, ${((seconds / allowed - 1) * 100).toFixed(1)} % more`
  const row = (what: string, seconds: number) => ({ what, value: over(seconds), goal: '', reached: true })
  const slowest = (what: string, ends: readonly Took[]) =>
    row(what, Math.max(...ends.map(({ whole }) => whole)))
  return [
    {
      what: 'A whole write over the bus: the rehearsal',
      value: `${allowed.toFixed(2)} s`,
      goal: '',
      reached: true,
    },
    row(`a host that only sends, hears and waits, on a port; least of ${RUNS}`, floor),
    row(`the same on a port, least of ${RUNS}`, one),
    {
      what: 'of that on the line, beyond what line, protocol and this pair of ports allow',
      value: `${((onLine / floor - 1) * 100).toFixed(1)} %`,
      goal: 'within 3 %',
      reached: onLine / floor <= 1.03,
    },
    slowest('the slowest of eight side by side', eight),
    slowest('the same while rehearsals run one after another', aside),
    slowest('the same where they run in the thread that writes', here),
  ]
}

/** The same octets on the same kind of port, without procedure, logbook, lanes and trace. @returns seconds */
async function bare(): Promise<number> {
  const { emulator, pair } = await emulated(1)
  const port = await openPort({ kind: 'local', path: pair.a }, { baud: 115_200, parity: 'none', stopBits: 1 })
  const ms = await bareHost(port, bareSteps(planned()), true)
  await port.close()
  const { hostMs } = await emulator.stop()
  await pair.end()
  return Number.isNaN(ms) ? ms : hostMs / 1000
}

/** The receiver of the plan on a pair of ports, as one wire that echoes. */
async function emulated(seed: number) {
  const write = planned()
  const laid = layEmulation({
    ...{ bench: write.plan.bench, receiverId: 'wren-trainer', dialect: write.plan.dialect, seed },
    ...{ faults: [], echo: true, pace: 'line' },
  })
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const pair = await ptyPair()
  const far = await openPort({ kind: 'local', path: pair.b }, laid.value.line)
  return { pair, emulator: new Emulator({ port: far, live: laid.value.live }) }
}

/** Seconds; NaN where it was not measured. */
interface Took {
  /** With everything around it, from the wish to the end. */
  readonly whole: number
  /** From the first octet of the host to its last. */
  readonly onLine: number
}

/** @param simulate where 256 KiB are rehearsed meanwhile; not at all where left out */
async function lanes(count: number, rehearsed: Rehearsed, simulate?: Simulate): Promise<Took[]> {
  const folder = testFolder('bench-lanes')
  const { desk, logbook } = robustDesk(folder.path, simulate)
  const large = writePlan({ bench: demoBench() })
  let isWriting = true
  const rehearseOn = async () => {
    for (let seed = 1; simulate && isWriting; seed++) {
      await desk.rehearse(large, seed)
      // As a window does, which asks again when it has heard.
      await new Promise(resolve => setImmediate(resolve))
    }
  }
  // A worker that has just been started is none to measure.
  if (simulate) await desk.rehearse(large, 0)
  const rehearsing = rehearseOn()
  const write = planned()
  const ends = await Promise.all(
    Array.from({ length: count }, async (_, i) => {
      const { pair, emulator } = await emulated(i + 1)
      const startedMs = performance.now()
      const { ended } = await desk.startWish({
        ready: write.ready,
        port: { key: pair.a, label: pair.a, place: { kind: 'local', path: pair.a } },
        ...{ rehearsed, planned: null, recovers: undefined, afterwards: [] },
      })
      const end = await ended
      // The ending says it in tenths of a second, which is 5 % of so short a write.
      const seconds = (performance.now() - startedMs) / 1000
      const { hostMs } = await emulator.stop()
      await pair.end()
      // A machine that is busy with something else does not even let the emulated receivers answer in time.
      const isMeasured = end.outcome === 'updated' && end.retries === 0
      return isMeasured
        ? { whole: seconds, onLine: hostMs / 1000 }
        : { whole: Number.NaN, onLine: Number.NaN }
    }),
  )
  isWriting = false
  await rehearsing
  await logbook.close()
  folder.remove()
  return ends
}

/** Of those that were measured. */
const leastOf = (seconds: readonly number[]): number => {
  const measured = seconds.filter(Number.isFinite)
  return measured.length === 0 ? Number.NaN : Math.min(...measured)
}
