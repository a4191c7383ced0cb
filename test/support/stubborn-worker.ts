import { parentPort } from 'node:worker_threads'

interface Told {
  readonly say: string
  readonly task?: { readonly fileName?: string; readonly ask?: { readonly receiverId?: string } }
}

/** A worker that does what it is told by the name of the file or receiver, for tests of what ends a worker. */
parentPort?.on('message', ({ say, task }: Told) => {
  const name = task?.fileName ?? task?.ask?.receiverId ?? ''
  if (say === 'next') parentPort?.postMessage({ say: 'done' })
  else if (name === 'hang') for (;;);
  else if (name === 'throw') throw new RangeError('a reader that throws')
  else if (name === 'exit') process.exit(3)
  else if (name === 'hog') {
    const hoard: number[][] = []
    for (;;) hoard.push(Array.from({ length: 100_000 }, (_, n) => n + 0.5))
  } else parentPort?.postMessage({ say: 'piece', piece: `read ${name}` })
})
parentPort?.postMessage({ say: 'ready' })
