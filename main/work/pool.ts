import { availableParallelism } from 'node:os'
import { Worker } from 'node:worker_threads'
import { failed, type Problem, type Result, succeeded } from '../../shared/model/problem.ts'
import { type PoolWords, READING } from './pool-words.ts'
import type { Task } from './tasks.ts'
import type { FromWorker, ToWorker } from './worker-loop.ts'
import { readerScript, type WorkerScript } from './worker-script.ts'

export interface PoolOptions {
  readonly script?: WorkerScript
  /** Tasks at once. */
  readonly size?: number
  /** How long a worker may take for one piece, such as one file of an archive, before it is ended. */
  readonly timeoutMs?: number
  /** How long a worker without work is kept. */
  readonly idleMs?: number
  /** Memory for a worker's objects; what is above ends the worker, and nothing else. */
  readonly heapMib?: number
  /** Of that, for objects that do not last; with too little of it a worker does nothing but clear up. */
  readonly youngMib?: number
  readonly words?: PoolWords
  /** Is told of what a worker broke down of. */
  readonly report?: (error: unknown) => void
}

export interface RunOptions {
  /** Shown in problems. */
  readonly fileName?: string
  readonly signal?: AbortSignal
  /** Is given each piece; the worker goes on when it has resolved. */
  readonly onPiece?: (piece: unknown) => void | Promise<void>
}

const START_MS = 30_000
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
    await this.#turn()
    let hand: Hand<T> | undefined
    try {
      if (options.signal?.aborted) return failed(about(this.#options.words.stopped, options.fileName))
      hand = this.#idle.pop() ?? new Hand<T>(this.#options)
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

  #turn(): Promise<void> {
    this.#busy++
    if (this.#busy <= this.#options.size) return Promise.resolve()
    return new Promise(resolve => this.#waiting.push(resolve))
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

type Heard = FromWorker | { readonly say: 'broken'; readonly problem: Problem }

/** One worker thread, and the talk with it. */
class Hand<T> {
  readonly #worker: Worker
  readonly #timeoutMs: number
  readonly #words: PoolWords
  #hear: (heard: Heard) => void = () => {}
  #resting: NodeJS.Timeout | undefined
  #isReady = false
  isUsable = true

  constructor({ script, timeoutMs, heapMib, youngMib, words, report }: Required<PoolOptions>) {
    this.#timeoutMs = timeoutMs
    this.#words = words
    this.#worker = new Worker(script.file, {
      workerData: script.workerData,
      // What the parent was started with may not suit a worker.
      execArgv: [],
      resourceLimits: { maxOldGenerationSizeMb: heapMib, maxYoungGenerationSizeMb: youngMib },
    })
    this.#worker.on('message', (message: FromWorker) => this.#hear(message))
    this.#worker.on('error', error => {
      report(error)
      this.#breakDown(isOutOfMemory(error) ? words.memory : words.broken)
    })
    this.#worker.on('messageerror', () => this.#breakDown(words.broken))
    this.#worker.on('exit', () => this.#breakDown(words.broken))
  }

  async work(task: T, { fileName, signal, onPiece }: RunOptions): Promise<Result<undefined>> {
    clearTimeout(this.#resting)
    this.#worker.ref()
    const stop = () => this.#breakDown(this.#words.stopped)
    signal?.addEventListener('abort', stop, { once: true })
    try {
      let heard = this.#isReady ? undefined : await this.#await(START_MS)
      if (heard === undefined || heard.say === 'ready') {
        this.#isReady = true
        heard = await this.#say({ say: 'task', task })
      }
      while (heard.say === 'piece') {
        await onPiece?.(heard.piece)
        heard = this.isUsable
          ? await this.#say({ say: 'next' })
          : { say: 'broken', problem: this.#words.stopped }
      }
      if (heard.say === 'done') return succeeded(undefined)
      const problem = heard.say === 'broken' ? heard.problem : this.#words.broken
      this.end()
      return failed(about(problem, fileName))
    } catch (error) {
      this.end()
      throw error
    } finally {
      signal?.removeEventListener('abort', stop)
    }
  }

  restFor(idleMs: number, then: () => void): void {
    this.#worker.unref()
    this.#resting = setTimeout(then, idleMs)
    this.#resting.unref()
  }

  end(): void {
    this.isUsable = false
    clearTimeout(this.#resting)
    this.#hear = () => {}
    void this.#worker.terminate()
  }

  #say(message: ToWorker<T>): Promise<Heard> {
    const heard = this.#await(this.#timeoutMs)
    this.#worker.postMessage(message)
    return heard
  }

  #await(timeoutMs: number): Promise<Heard> {
    return new Promise(resolve => {
      if (!this.isUsable) return resolve({ say: 'broken', problem: this.#words.broken })
      const timer = setTimeout(() => this.#breakDown(this.#words.timeout(timeoutMs)), timeoutMs)
      this.#hear = heard => {
        clearTimeout(timer)
        this.#hear = () => {}
        resolve(heard)
      }
    })
  }

  #breakDown(problem: Problem): void {
    this.isUsable = false
    this.#hear({ say: 'broken', problem })
  }
}

const isOutOfMemory = (error: unknown): boolean =>
  (error as NodeJS.ErrnoException).code === 'ERR_WORKER_OUT_OF_MEMORY'

const about = (problem: Problem, file: string | undefined): Problem =>
  file === undefined ? problem : { ...problem, file }
