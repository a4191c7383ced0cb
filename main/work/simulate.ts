import type { RehearsalMoment } from '../../shared/api/rehearse.ts'
import { failed, type Result } from '../../shared/model/problem.ts'
import { WorkerPool } from './pool.ts'
import { SIMULATING } from './pool-words.ts'
import {
  type SimulationAsks,
  type SimulationKind,
  type SimulationReplies,
  type SimulationTask,
  simulations,
} from './simulations.ts'
import { simulatorScript } from './worker-script.ts'

/**
 * Works something out in the simulator, wherever that is done.
 * @returns what came of it, or problems; `work.…` where it broke down, took too long or too much memory
 */
export type Simulate = <K extends SimulationKind>(
  kind: K,
  ask: SimulationAsks[K],
  during?: During,
) => Promise<Result<SimulationReplies[K]>>

/** For somebody who waits for it. */
export interface During {
  /** Gives it up, answered with `work.stopped`; what else waits for the worker goes on. */
  readonly signal?: AbortSignal
  /** Is told now and then how far a rehearsal is; of other kinds nothing is known. */
  readonly onMoment?: (moment: RehearsalMoment) => void
}

/** In this thread: for a command that does nothing else meanwhile, so that nobody could give it up or look on. */
export function simulateHere(simulate = simulations()): Simulate {
  return async (kind, ask) => simulate(kind, ask)
}

/** More than the slowest way of writing takes for the largest image that there is. */
const TIMEOUT_MS = 180_000
/** A new worker is as slow as a program is in its first second, so it is kept for as long as somebody may come back. */
const IDLE_MS = 15 * 60_000
/** A rehearsal notices at its next effect that it is not wanted; what does not is ended, with the tables it kept. */
const GRACE_MS = 400
const HEAP_MIB = 512
const YOUNG_MIB = 64

/** @param report is told of what a worker broke down of */
export const simulatorPool = (report: (error: unknown) => void): WorkerPool<SimulationTask> =>
  new WorkerPool<SimulationTask>({
    ...{ script: simulatorScript(), words: SIMULATING, report },
    ...{ timeoutMs: TIMEOUT_MS, graceMs: GRACE_MS, idleMs: IDLE_MS, heapMib: HEAP_MIB, youngMib: YOUNG_MIB },
  })

/** In a worker, so that nothing in this thread waits for it. */
export function simulateAside(pool: Pick<WorkerPool<SimulationTask>, 'run'>): Simulate {
  return async <K extends SimulationKind>(kind: K, ask: SimulationAsks[K], during: During = {}) => {
    let reply: Result<SimulationReplies[K]> = failed(SIMULATING.broken)
    const run = await pool.run(
      { kind, ask },
      {
        ...(during.signal ? { signal: during.signal } : {}),
        onNote: note => during.onMoment?.(note as RehearsalMoment),
        onPiece: piece => {
          reply = piece as Result<SimulationReplies[K]>
        },
      },
    )
    return run.ok ? reply : run
  }
}
