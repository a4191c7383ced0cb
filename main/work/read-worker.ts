import { parentPort } from 'node:worker_threads'
import { carryOut, type Task } from './tasks.ts'

/**
 * Runs in a thread of its own. Takes one task at a time; hands over one piece of it after another, each when the one
 * before has been dealt with, so that no more than one unpacked file is in memory.
 */

export type ToWorker = { readonly say: 'task'; readonly task: Task } | { readonly say: 'next' }
export type FromWorker =
  | { readonly say: 'ready' }
  | { readonly say: 'piece'; readonly piece: unknown }
  | { readonly say: 'done' }

let pieces: Iterator<unknown> | undefined

parentPort?.on('message', (message: ToWorker) => {
  if (message.say === 'task') pieces = carryOut(message.task)[Symbol.iterator]()
  const step = pieces?.next()
  const answer: FromWorker =
    step === undefined || step.done ? { say: 'done' } : { say: 'piece', piece: step.value }
  if (answer.say === 'done') pieces = undefined
  parentPort?.postMessage(answer)
})
parentPort?.postMessage({ say: 'ready' } satisfies FromWorker)
