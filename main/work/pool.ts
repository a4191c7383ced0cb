import { availableParallelism } from 'node:os'
import { Worker } from 'node:worker_threads'
import { failed, type Problem, type Result, succeeded } from '../../shared/model/problem.ts'
import type { FromWorker, ToWorker } from './read-worker.ts'
import type { Task } from './tasks.ts'
import { readerScript, type WorkerScript } from './worker-script.ts'

export interface PoolOptions {
  readonly script?: WorkerScript
  /** Tasks at once. */
  readonly size?: number
  /** How long a worker may take for one file, or for one of an archive, before it is ended. */
  readonly timeoutMs?: number
  /** How long a worker without work is kept. */
  readonly idleMs?: number
  /** Memory for a worker's objects; what is above ends the worker, and nothing else. */
  readonly heapMib?: number
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
 * A few worker threads that read what comes from outside. A worker that takes too long, runs out of memory or breaks
 * down is ended, its task answered with a problem, and a new one takes its place: a file can neither hang nor end
 * the program.
 */
export class WorkerPool {
  readonly #options: Required<PoolOptions>
  readonly #idle: Hand[] = []
  readonly #waiting: (() => void)[] = []
  #busy = 0

  constructor(options: PoolOptions = {}) {
    this.#options = {
      script: readerScript(),
      size: Math.max(1, Math.min(2, availableParallelism() - 1)),
      timeoutMs: TIMEOUT_MS,
      idleMs: IDLE_MS,
      heapMib: HEAP_MIB,
      ...options,
    }
  }

  /**
   * Never rejects but for what `onPiece` rejects with. The pieces already handed over stay handed over.
   * @returns nothing of value, or `work.timeout`, `work.memory`, `work.broken`, `work.stopped`
   */
  async run(task: Task, options: RunOptions = {}): Promise<Result<undefined>> {
    await this.#turn()
    let hand: Hand | undefined
    try {
      if (options.signal?.aborted) return failed(stopped(options.fileName))
      hand = this.#idle.pop() ?? new Hand(this.#options)
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

  #rest(hand: Hand): void {
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
class Hand {
  readonly #worker: Worker
  readonly #timeoutMs: number
  #hear: (heard: Heard) => void = () => {}
  #resting: NodeJS.Timeout | undefined
  #isReady = false
  isUsable = true

  constructor({ script, timeoutMs, heapMib }: Required<PoolOptions>) {
    this.#timeoutMs = timeoutMs
    this.#worker = new Worker(script.file, {
      workerData: script.workerData,
      // What the parent was started with may not suit a worker.
      execArgv: [],
      resourceLimits: { maxOldGenerationSizeMb: heapMib, maxYoungGenerationSizeMb: YOUNG_MIB },
    })
    this.#worker.on('message', (message: FromWorker) => this.#hear(message))
    this.#worker.on('error', error => this.#breakDown(problemOf(error)))
    this.#worker.on('messageerror', () => this.#breakDown(BROKEN))
    this.#worker.on('exit', () => this.#breakDown(BROKEN))
  }

  async work(task: Task, { fileName, signal, onPiece }: RunOptions): Promise<Result<undefined>> {
    clearTimeout(this.#resting)
    this.#worker.ref()
    const stop = () => this.#breakDown(stopped(fileName))
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
          : { say: 'broken', problem: stopped(fileName) }
      }
      if (heard.say === 'done') return succeeded(undefined)
      const problem = heard.say === 'broken' ? heard.problem : BROKEN
      this.end()
      return failed({ ...problem, ...(fileName === undefined ? {} : { file: fileName }) })
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

  #say(message: ToWorker): Promise<Heard> {
    const heard = this.#await(this.#timeoutMs)
    this.#worker.postMessage(message)
    return heard
  }

  #await(timeoutMs: number): Promise<Heard> {
    return new Promise(resolve => {
      if (!this.isUsable) return resolve({ say: 'broken', problem: BROKEN })
      const timer = setTimeout(() => this.#breakDown(tooSlow(timeoutMs)), timeoutMs)
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

const BROKEN: Problem = {
  code: 'work.broken',
  message: 'Reading this file broke down; the rest of Preflash is not affected.',
  remedy: 'The file is very unlikely to be sound. Get it again from where it came from.',
}

const problemOf = (error: unknown): Problem =>
  (error as NodeJS.ErrnoException).code === 'ERR_WORKER_OUT_OF_MEMORY'
    ? {
        code: 'work.memory',
        message: 'Reading this file would have taken too much memory, so it was given up.',
        remedy: 'The file is very unlikely to be an image. Get it again from where it came from.',
      }
    : BROKEN

const tooSlow = (timeoutMs: number): Problem => ({
  code: 'work.timeout',
  message: `Reading this file took more than ${timeoutMs / 1000} s, so it was given up.`,
  remedy:
    'Import it by itself when the computer has less to do; if it takes as long again, get the file anew.',
})

const stopped = (file: string | undefined): Problem => ({
  code: 'work.stopped',
  message: 'It was not read: you stopped the import.',
  ...(file === undefined ? {} : { file }),
})
