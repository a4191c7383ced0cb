import { availableParallelism } from 'node:os'
import { failed, type Result } from '../../shared/model/problem.ts'
import { about, Hand } from './hand.ts'
import type { PoolOptions, RunOptions } from './pool-options.ts'
import { READING } from './pool-words.ts'
import type { Task } from './tasks.ts'
import { readerScript } from './worker-script.ts'

const TIMEOUT_MS = 30_000
const IDLE_MS = 15_000
const HEAP_MIB = 192
const YOUNG_MIB = 16

/**
 * A few worker threads, for what comes from outside or takes its time. A worker that takes too long, runs out of memory or breaks
 * down is ended, its task answered with a problem, and a new one takes its place: a task can neither hang nor end
 * the program.
 */
export class WorkerPool<T = Task> {
  readonly #options: Required<PoolOptions>
  readonly #idle: Hand<T>[] = []
  readonly #waiting: (() => void)[] = []
  #busy = 0

  constructor(options: PoolOptions = {}) {
    this.#options = {
      script: readerScript(),
      size: Math.max(1, Math.min(2, availableParallelism() - 1)),
      timeoutMs: TIMEOUT_MS,
      idleMs: IDLE_MS,
      heapMib: HEAP_MIB,
      youngMib: YOUNG_MIB,
      graceMs: 0,
      words: READING,
      report: () => {},
      ...options,
    }
  }

  /**
   * Never rejects but for what `onPiece` rejects with. The pieces already handed over stay handed over.
   * @returns nothing of value, or `work.timeout`, `work.memory`, `work.broken`, `work.stopped`
   */
  async run(task: T, options: RunOptions = {}): Promise<Result<undefined>> {
    if (!(await this.#turn(options.signal)))
      return failed(about(this.#options.words.stopped, options.fileName))
    let hand: Hand<T> | undefined
    try {
      hand = this.#rested() ?? new Hand<T>(this.#options)
      return await hand.work(task, options)
    } finally {
      this.#busy--
      if (hand?.isUsable) this.#rest(hand)
      this.#waiting.shift()?.()
    }
  }

  /** Ends the workers that have nothing to do. */
  close(): void {
    for (const hand of this.#idle.splice(0)) hand.end()
  }

  /** @returns false where it was stopped before its turn came: then it has left the queue */
  #turn(signal: AbortSignal | undefined): Promise<boolean> {
    if (signal?.aborted) return Promise.resolve(false)
    this.#busy++
    if (this.#busy <= this.#options.size) return Promise.resolve(true)
    return new Promise(resolve => {
      const come = () => {
        signal?.removeEventListener('abort', leave)
        resolve(true)
      }
      const leave = () => {
        this.#busy--
        this.#waiting.splice(this.#waiting.indexOf(come), 1)
        resolve(false)
      }
      this.#waiting.push(come)
      signal?.addEventListener('abort', leave, { once: true })
    })
  }

  /** One that has nothing to do; what broke down while it rested is left out. */
  #rested(): Hand<T> | undefined {
    for (let hand = this.#idle.pop(); hand !== undefined; hand = this.#idle.pop())
      if (hand.isUsable) return hand
      else hand.end()
    return undefined
  }

  #rest(hand: Hand<T>): void {
    this.#idle.push(hand)
    hand.restFor(this.#options.idleMs, () => {
      const at = this.#idle.indexOf(hand)
      if (at >= 0) this.#idle.splice(at, 1)
      hand.end()
    })
  }
}
