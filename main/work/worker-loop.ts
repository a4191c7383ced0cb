import { parentPort } from 'node:worker_threads'

/** The talk between a pool and one of its workers, and the worker's side of it. */

export type ToWorker<T> = { readonly say: 'task'; readonly task: T } | { readonly say: 'next' }
export type FromWorker =
  | { readonly say: 'ready' }
  | { readonly say: 'piece'; readonly piece: unknown }
  | { readonly say: 'done' }

/**
 * Carries tasks out in this thread, one at a time; hands over one piece of it after another, each when the one before
 * has been dealt with, so that no more than one is in memory.
 * @param carryOut yields the pieces
 * @param given the buffers of a piece that need not be copied, for nobody here looks at them any more
 */
export function serveTasks<T, P>(
  carryOut: (task: T) => Iterable<P>,
  given: (piece: P) => readonly ArrayBuffer[] = () => [],
): void {
  let pieces: Iterator<P> | undefined
  const say = (answer: FromWorker, buffers: readonly ArrayBuffer[] = []) =>
    parentPort?.postMessage(answer, [...buffers])
  parentPort?.on('message', (message: ToWorker<T>) => {
    if (message.say === 'task') pieces = carryOut(message.task)[Symbol.iterator]()
    const step = pieces?.next()
    if (step === undefined || step.done) {
      pieces = undefined
      say({ say: 'done' })
    } else say({ say: 'piece', piece: step.value }, given(step.value))
  })
  say({ say: 'ready' })
}
