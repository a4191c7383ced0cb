import { parentPort } from 'node:worker_threads'

/** A worker that does what it is told by the file's name, for tests of what ends a worker. */
parentPort?.on('message', (message: { say: string; task?: { fileName?: string } }) => {
  const name = message.task?.fileName ?? ''
  if (message.say === 'next') parentPort?.postMessage({ say: 'done' })
  else if (name === 'hang') for (;;);
  else if (name === 'throw') throw new RangeError('a reader that throws')
  else if (name === 'exit') process.exit(3)
  else if (name === 'hog') {
    const hoard: number[][] = []
    for (;;) hoard.push(Array.from({ length: 100_000 }, (_, n) => n + 0.5))
  } else parentPort?.postMessage({ say: 'piece', piece: `read ${name}` })
})
parentPort?.postMessage({ say: 'ready' })
