import { parentPort, workerData } from 'node:worker_threads'

/** The talk between a pool and one of its workers, and the worker's side of it. */

export type ToWorker<T> = { readonly say: 'task'; readonly task: T } | { readonly say: 'next' }
export type FromWorker =
  | { readonly say: 'ready' }
  | { readonly say: 'piece'; readonly piece: unknown }
  /** Something about the task under way that wants no answer. */
  | { readonly say: 'note'; readonly note: unknown }
  /** The task was given up because somebody no longer wants it. */
  | { readonly say: 'stopped' }
  | { readonly say: 'done' }

/**
 * A worker in the middle of a task hears no messages, so whether it is still wanted is said in memory that both threads
 * see: one number, 0 while it is wanted.
 */
export type StopFlag = Int32Array<SharedArrayBuffer>
export const makeStopFlag = (): StopFlag => new Int32Array(new SharedArrayBuffer(4))

/** What a task can do while it is carried out. */
export interface Meanwhile {
  /** @throws StoppedError where nobody wants the task any more; a task lets it pass */
  readonly goOn: () => void
  readonly note: (note: unknown) => void
}

export class StoppedError extends Error {
  override name = 'StoppedError'
}

/**
 * Carries tasks out in this thread, one at a time; hands over one piece of it after another, each when the one before
 * has been dealt with, so that no more than one is in memory.
 * @param carryOut yields the pieces
 * @param given the buffers of a piece that need not be copied, for nobody here looks at them any more
 */
export function serveTasks<T, P>(
  carryOut: (task: T, meanwhile: Meanwhile) => Iterable<P>,
  given: (piece: P) => readonly ArrayBuffer[] = () => [],
): void {
  const { stop } = (workerData ?? {}) as { readonly stop?: StopFlag }
  let pieces: Iterator<P> | undefined
  const say = (answer: FromWorker, buffers: readonly ArrayBuffer[] = []) =>
    parentPort?.postMessage(answer, [...buffers])
  const meanwhile: Meanwhile = {
    goOn: () => {
      if (stop !== undefined && Atomics.load(stop, 0) !== 0) throw new StoppedError()
    },
    note: note => say({ say: 'note', note }),
  }
  function step(message: ToWorker<T>): void {
    meanwhile.goOn()
    if (message.say === 'task') pieces = carryOut(message.task, meanwhile)[Symbol.iterator]()
    const next = pieces?.next()
    if (next === undefined || next.done) {
      pieces = undefined
      say({ say: 'done' })
    } else say({ say: 'piece', piece: next.value }, given(next.value))
  }
  parentPort?.on('message', (message: ToWorker<T>) => {
    try {
      step(message)
    } catch (error) {
      if (!(error instanceof StoppedError)) throw error
      pieces = undefined
      say({ say: 'stopped' })
    }
  })
  say({ say: 'ready' })
}
