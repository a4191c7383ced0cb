import type { LaneReport, WriteEnding } from '../../shared/bench-run/lane.ts'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import type { Trace } from '../../shared/sim/trace.ts'
import type { TraceCursor, TracePiece } from '../../shared/sim/trace-piece.ts'
import { type WriteEnv, WriteSession, type WriteWish } from './write-session.ts'

/** Writes that run side by side, each on its own port and with its own state. */

export const MOST_LANES = 8
/** Those that have ended are shown until somebody takes them away, and no more of them than this. */
const MOST_ENDED = 24
const TELL_MS = 250
const TICKS_A_SECOND = 4

export interface LanesEnv extends Omit<WriteEnv, 'onChange'> {
  /** A lane has gone on: at most some times a second, and at once when it has ended. */
  readonly onLane: (report: LaneReport) => void
}

interface Lane {
  readonly session: WriteSession
  readonly ended: Promise<WriteEnding>
}

export class Lanes {
  readonly #lanes = new Map<string, Lane>()
  readonly #changed = new Set<string>()
  #timer: NodeJS.Timeout | undefined
  #made = 0

  /** @throws ProblemError `write.lanes-full`, `port.in-use`; then nothing was touched */
  start(wish: Omit<WriteWish, 'lane'>, env: LanesEnv): { lane: string; ended: Promise<WriteEnding> } {
    const live = this.#live()
    if (live.length >= MOST_LANES) throw new ProblemError(full)
    if (live.some(({ session }) => session.wish.port.key === wish.port.key))
      throw new ProblemError(inUse(wish.port.label))
    const lane = `lane-${++this.#made}`
    const onChange = () => void this.#changed.add(lane)
    const session = new WriteSession({ ...wish, lane }, { ...env, onChange })
    const ended = session.run().finally(() => {
      this.#changed.delete(lane)
      if (session.view.end === null) this.#lanes.delete(lane)
      else env.onLane(session.report())
    })
    this.#lanes.set(lane, { session, ended })
    // Whoever started it is told; nobody else has to wait for it.
    ended.catch(() => {})
    this.#forgetOldest()
    this.#watch(env)
    return { lane, ended }
  }

  /** @returns whether it was live */
  cancel(lane: string): boolean {
    const session = this.#lanes.get(lane)?.session
    if (session === undefined || session.view.end !== null) return false
    session.cancel()
    return true
  }

  /** Cancels all, and waits until each has said in what state its receiver is. */
  async cancelAll(): Promise<void> {
    const live = this.#live()
    for (const { session } of live) session.cancel()
    await Promise.allSettled(live.map(({ ended }) => ended))
  }

  reports(): LaneReport[] {
    return [...this.#lanes.values()].map(({ session }) => session.report())
  }

  report(lane: string): LaneReport | undefined {
    return this.#lanes.get(lane)?.session.report()
  }

  dismiss(lane: string): void {
    if (this.#lanes.get(lane)?.session.view.end) this.#lanes.delete(lane)
  }

  trace(lane: string): Trace | undefined {
    return this.#lanes.get(lane)?.session.trace()
  }

  tracePiece(lane: string, after: TraceCursor | null): TracePiece | undefined {
    return this.#lanes.get(lane)?.session.tracePiece(after)
  }

  #live(): Lane[] {
    return [...this.#lanes.values()].filter(({ session }) => session.view.end === null)
  }

  #forgetOldest(): void {
    const ended = [...this.#lanes].filter(([, { session }]) => session.view.end !== null)
    for (const [lane] of ended.slice(0, Math.max(0, ended.length - MOST_ENDED))) this.#lanes.delete(lane)
  }

  /** Tells what has changed, and once a second how long it has been since, while anything runs. */
  #watch(env: LanesEnv): void {
    let ticks = 0
    this.#timer ??= setInterval(() => {
      const live = this.#live()
      const all = ++ticks % TICKS_A_SECOND === 0
      for (const { session } of live)
        if (all || this.#changed.has(session.wish.lane)) env.onLane(session.report())
      this.#changed.clear()
      if (live.length > 0) return
      clearInterval(this.#timer)
      this.#timer = undefined
    }, TELL_MS)
  }
}

const full: Problem = {
  code: 'write.lanes-full',
  message: `There are ${MOST_LANES} writes running already.`,
  remedy: 'Wait until one has ended.',
}
const inUse = (label: string): Problem => ({
  code: 'port.in-use',
  field: 'port',
  message: `A write is running on ${label} already.`,
  remedy: 'Wait until it has ended, or take another port.',
})
