import { Worker } from 'node:worker_threads'
import { failed, type Problem, type Result, succeeded } from '../../shared/model/problem.ts'
import type { PoolOptions, RunOptions } from './pool-options.ts'
import type { PoolWords } from './pool-words.ts'
import { type FromWorker, makeStopFlag, type ToWorker } from './worker-loop.ts'

const START_MS = 30_000

type Answer = Exclude<FromWorker, { readonly say: 'note' }>
type Heard = Answer | { readonly say: 'broken'; readonly problem: Problem }

/** One worker thread, and the talk with it. */
export class Hand<T> {
  readonly #worker: Worker
  readonly #timeoutMs: number
  readonly #graceMs: number
  readonly #words: PoolWords
  readonly #stop = makeStopFlag()
  #note: (note: unknown) => void = () => {}
  #hear: (heard: Heard) => void = () => {}
  #resting: NodeJS.Timeout | undefined
  #isReady = false
  isUsable = true

  constructor({ script, timeoutMs, graceMs, heapMib, youngMib, words, report }: Required<PoolOptions>) {
    this.#timeoutMs = timeoutMs
    this.#graceMs = graceMs
    this.#words = words
    this.#worker = new Worker(script.file, {
      workerData: { ...script.workerData, stop: this.#stop },
      // What the parent was started with may not suit a worker.
      execArgv: [],
      resourceLimits: { maxOldGenerationSizeMb: heapMib, maxYoungGenerationSizeMb: youngMib },
    })
    this.#worker.on('message', (message: FromWorker) => {
      // It may come when nobody waits for it any more.
      if (message.say === 'ready') this.#isReady = true
      if (message.say === 'note') this.#note(message.note)
      else this.#hear(message)
    })
    this.#worker.on('error', error => {
      report(error)
      this.#breakDown(isOutOfMemory(error) ? words.memory : words.broken)
    })
    this.#worker.on('messageerror', () => this.#breakDown(words.broken))
    this.#worker.on('exit', () => this.#breakDown(words.broken))
  }

  async work(task: T, options: RunOptions): Promise<Result<undefined>> {
    const { fileName, signal, onPiece, onNote } = options
    clearTimeout(this.#resting)
    this.#worker.ref()
    const stopped = failed(about(this.#words.stopped, fileName))
    let grace: NodeJS.Timeout | undefined
    const stop = () => {
      grace = this.#tellToStop()
    }
    if (signal?.aborted) return stopped
    signal?.addEventListener('abort', stop, { once: true })
    this.#note = onNote ?? (() => {})
    try {
      let heard = this.#isReady ? undefined : await this.#await(START_MS)
      if (heard === undefined || heard.say === 'ready') {
        heard = await this.#say({ say: 'task', task })
      }
      while (heard.say === 'piece') {
        await onPiece?.(heard.piece)
        heard = this.isUsable
          ? await this.#say({ say: 'next' })
          : { say: 'broken', problem: this.#words.stopped }
      }
      if (heard.say === 'stopped') return stopped
      // It may have come to its end just before it would have noticed.
      if (heard.say === 'done') return signal?.aborted ? stopped : succeeded(undefined)
      const problem = heard.say === 'broken' ? heard.problem : this.#words.broken
      this.end()
      return failed(about(problem, fileName))
    } catch (error) {
      this.end()
      throw error
    } finally {
      signal?.removeEventListener('abort', stop)
      clearTimeout(grace)
      this.#note = () => {}
      Atomics.store(this.#stop, 0, 0)
    }
  }

  /** Ends it where it does not stop by itself in time. One that still loads has not begun: it goes on loading. */
  #tellToStop(): NodeJS.Timeout | undefined {
    if (this.#graceMs === 0) {
      this.#breakDown(this.#words.stopped)
      return undefined
    }
    if (!this.#isReady) {
      this.#hear({ say: 'stopped' })
      return undefined
    }
    Atomics.store(this.#stop, 0, 1)
    return setTimeout(() => this.#breakDown(this.#words.stopped), this.#graceMs)
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

export const about = (problem: Problem, file: string | undefined): Problem =>
  file === undefined ? problem : { ...problem, file }
