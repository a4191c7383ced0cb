/** What becomes of a command whose reader is gone: `head` that has read enough, a window that was closed. */

let kept = 0

/** As long as this work goes on, nobody reading on is no reason to end: a receiver may be half written. */
export async function keepGoing<T>(work: () => Promise<T>): Promise<T> {
  kept++
  try {
    return await work()
  } finally {
    kept--
  }
}

/** For the errors of the output. @throws any other error */
export function outputGone(error: NodeJS.ErrnoException, exit: () => void = () => process.exit()): void {
  const gone = error.code === 'EPIPE' || error.code === 'ERR_STREAM_DESTROYED' || error.code === 'EIO'
  if (!gone) throw error
  if (kept === 0) exit()
}
