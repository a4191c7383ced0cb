import { whyNoRoom } from '../store/disk-words.ts'

/** What becomes of a command whose reader is gone: `head` that has read enough, a window that was closed. */

let kept = 0

/** As long as this work goes on, nobody reading on is no reason to end: a receiver may be half written. */
export async function keepGoing<T>(work: () => Promise<T>): Promise<T> {
  kept++
  try {
    return await work()
  } finally {
    // What it said last fails a turn later; how it ended must still be what the exit code says.
    await new Promise(resolve => setImmediate(resolve))
    kept--
  }
}

let saidNoRoom = false

/** For the errors of the output. @throws any other error */
export function outputGone(
  error: NodeJS.ErrnoException,
  exit: (code?: number) => void = code => process.exit(code),
  say: (text: string) => void = text => void process.stderr.write(text),
): void {
  const noRoom = whyNoRoom(error)
  const gone = error.code === 'EPIPE' || error.code === 'ERR_STREAM_DESTROYED' || error.code === 'EIO'
  if (!gone && noRoom === undefined) throw error
  // Once, for where this is said may be just as full.
  if (noRoom !== undefined && !saidNoRoom) {
    saidNoRoom = true
    say(`What this program says could not be written: ${noRoom}.\n`)
  }
  if (kept === 0) exit(noRoom === undefined ? undefined : 1)
}
