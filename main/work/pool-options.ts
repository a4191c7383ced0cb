import type { PoolWords } from './pool-words.ts'
import type { WorkerScript } from './worker-script.ts'

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
  /** How long a worker that is told to stop has to come to a stop by itself, so that it can be used again. */
  readonly graceMs?: number
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
  /** Is given what the worker tells of a task under way; nothing waits for it. */
  readonly onNote?: (note: unknown) => void
}
