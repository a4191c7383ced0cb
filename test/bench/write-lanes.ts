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
import type { Measured } from './table.ts'

/**
 * Whole writes with everything around them (logbook, lanes, live trace) on a line that is paced at 115,200 baud, one by
 * itself and eight side by side, against the rehearsal: that is what line and protocol allow; and eight while 256 KiB
 * are rehearsed again and again, in the same thread and in a worker. The emulated receivers run in the same process, and
 * take their share of it.
 */
export async function benchWriteLanes(): Promise<Measured[]> {
  if (needs('socat') === undefined)
    return [{ what: 'Whole writes', value: 'LEFT OUT: socat is not here', goal: '', reached: true }]
  const write = planned()
  const done = rehearseWrite(write)
  if (!done.ok) throw new Error(done.problems[0].message)
  const { rehearsed } = done.value
  const [one] = await lanes(1, rehearsed)
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
  const row = (what: string, ends: readonly number[]) => ({
    ...{ what, value: over(Math.max(...ends)), goal: '', reached: true },
  })
  return [
    {
      what: 'A whole write over the bus: the rehearsal',
      value: `${allowed.toFixed(2)} s`,
      goal: '',
      reached: true,
    },
    { what: 'the same on a port', value: over(one), goal: 'within 3 %', reached: one / allowed <= 1.03 },
    row('the slowest of eight side by side', eight),
    row('the same while rehearsals run one after another', aside),
    row('the same where they run in the thread that writes', here),
  ]
}

/** @param simulate where 256 KiB are rehearsed meanwhile; not at all where left out */
async function lanes(count: number, rehearsed: Rehearsed, simulate?: Simulate): Promise<number[]> {
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
      const laid = layEmulation({
        ...{ bench: write.plan.bench, receiverId: write.unit.id, dialect: write.plan.dialect, seed: i + 1 },
        ...{ faults: [], echo: true, pace: 'line' },
      })
      if (!laid.ok) throw new Error(laid.problems[0].message)
      const pair = await ptyPair()
      const far = await openPort({ kind: 'local', path: pair.b }, laid.value.line)
      const emulator = new Emulator({ port: far, live: laid.value.live })
      const startedMs = performance.now()
      const { ended } = await desk.startWish({
        ready: write.ready,
        port: { key: pair.a, label: pair.a, place: { kind: 'local', path: pair.a } },
        ...{ rehearsed, planned: null, recovers: undefined, afterwards: [] },
      })
      const end = await ended
      // The ending says it in tenths of a second, which is 5 % of so short a write.
      const seconds = (performance.now() - startedMs) / 1000
      await emulator.stop()
      await pair.end()
      // A machine that is busy with something else does not even let the emulated receivers answer in time.
      return end.outcome === 'updated' && end.retries === 0 ? seconds : Number.NaN
    }),
  )
  isWriting = false
  await rehearsing
  await logbook.close()
  folder.remove()
  return ends
}
