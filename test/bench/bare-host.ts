import type { OpenPort } from '../../main/serial/port.ts'
import { simulatedEnd } from '../../shared/bench-run/far-ends.ts'
import type { PlannedWrite } from '../../shared/bench-run/ready.ts'
import { MemoryStore } from '../../shared/bench-run/store.ts'
import { VirtualHost } from '../../shared/bench-run/virtual-host.ts'
import type { Effect, Procedure } from '../../shared/procedure/effects.ts'

/**
 * A host that does nothing but send what it is given, count what comes back and wait: what it takes is what line,
 * receiver and ports take, and nobody can be faster on them.
 */

export type BareStep =
  | { readonly send: Uint8Array }
  /** So many octets come back, the echo of what was sent not counted. */
  | { readonly hear: number }
  | { readonly waitMs: number }

/** What a write says and hears in the simulator when all goes well. */
export function bareSteps(write: PlannedWrite): BareStep[] {
  const laid = simulatedEnd(write, { seed: 1, faults: [] })
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const files = new MemoryStore()
  const steps: BareStep[] = []
  const host = new VirtualHost(laid.value.far, { store: request => files.ask(request), onEvent: () => {} })
  host.run(noted(write.ready.procedure('backup.bin', false), steps))
  return steps
}

function* noted<R>(procedure: Procedure<R>, steps: BareStep[]): Procedure<R> {
  let step = procedure.next({ got: 'done' })
  while (!step.done) {
    const effect: Effect = step.value
    const result = yield effect
    if (effect.do === 'send') steps.push({ send: effect.octets.slice() })
    else if (effect.do === 'wait') steps.push({ waitMs: effect.ms })
    else if (result.got === 'octets') steps.push({ hear: result.octets.length })
    else if (effect.do === 'receive') steps.push({ waitMs: effect.timeoutMs })
    step = procedure.next(result)
  }
  return step.value
}

/** Timers fire up to a millisecond late; the rest of the way the event loop goes round without one. */
const TIMER_MS = 1.5
/** A receiver that has fallen silent ends it. */
const SILENT_MS = 2000

/**
 * @param hasEcho the line gives back what is sent
 * @returns how long it took, in milliseconds; NaN where the receiver said less than it should
 */
export async function bareHost(
  port: OpenPort,
  steps: readonly BareStep[],
  hasEcho: boolean,
): Promise<number> {
  let awaited = 0
  let wake = () => {}
  const unlisten = port.onOctets(octets => {
    awaited -= octets.length
    if (awaited <= 0) wake()
  })
  const allHeard = () =>
    new Promise<boolean>(resolve => {
      if (awaited <= 0) return resolve(true)
      const late = setTimeout(() => resolve(false), SILENT_MS)
      wake = () => {
        clearTimeout(late)
        resolve(true)
      }
    })
  const begunMs = performance.now()
  let freeAtMs = begunMs
  try {
    for (const step of steps) {
      if ('send' in step) {
        const nowMs = performance.now()
        if ((port.writeNow?.(step.send) ?? 0) < step.send.length) return Number.NaN
        freeAtMs = Math.max(freeAtMs, nowMs) + (step.send.length * 10_000) / port.settings.baud
        if (hasEcho) awaited += step.send.length
      } else if ('hear' in step) {
        awaited += step.hear
        if (!(await allHeard())) return Number.NaN
      } else await until(Math.max(freeAtMs, performance.now()) + step.waitMs)
    }
    return performance.now() - begunMs
  } finally {
    unlisten()
  }
}

async function until(atMs: number): Promise<void> {
  for (;;) {
    const leftMs = atMs - performance.now()
    if (leftMs <= 0) return
    if (leftMs >= TIMER_MS) await new Promise(resolve => setTimeout(resolve, Math.floor(leftMs - 1)))
    else await new Promise(resolve => setImmediate(resolve))
  }
}
