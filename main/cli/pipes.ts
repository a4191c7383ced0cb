import { constants, openSync } from 'node:fs'
import { Socket } from 'node:net'

/** Named pipes: what is at their other end may never come, never go on and never end. */

export interface Patience {
  /** Nothing passes for so long. */
  readonly silentMs: number
  /** It has not come to its end in all this time. */
  readonly longestMs: number
}

/** Time to start by hand what is at the other end, and for a slow program to fill the largest file that is taken. */
const USUAL: Patience = { silentMs: 10_000, longestMs: 120_000 }

/** Nothing passed, or no end came, in the time that is given to a pipe. */
export class PipeTooSlow extends Error {}
/** More came out of a pipe than may be. */
export class PipeTooLong extends Error {}

/**
 * What comes out of a pipe until its end.
 * @throws PipeTooSlow, PipeTooLong, or the file system's error
 */
export async function readPipe(
  path: string,
  mostBytes: number,
  patience: Patience = USUAL,
): Promise<Uint8Array> {
  // An ordinary open would wait for somebody to write, in a place where nothing can end it.
  const fd = openSync(path, constants.O_RDONLY | constants.O_NONBLOCK)
  const pieces: Buffer[] = []
  let read = 0
  await passing(new Socket({ fd, readable: true, writable: false }), patience, async pipe => {
    for await (const piece of pipe) {
      read += piece.length
      if (read > mostBytes) throw new PipeTooLong()
      pieces.push(piece)
    }
  })
  return new Uint8Array(Buffer.concat(pieces))
}

/**
 * Puts all of it into a pipe that somebody reads.
 * @throws PipeTooSlow, or the file system's error; `ENXIO` where nobody reads it
 */
export async function writePipe(
  path: string,
  content: Uint8Array | string,
  patience: Patience = USUAL,
): Promise<void> {
  const fd = openSync(path, constants.O_WRONLY | constants.O_NONBLOCK)
  await passing(
    new Socket({ fd, readable: false, writable: true }),
    patience,
    pipe =>
      new Promise<void>((resolve, reject) => {
        pipe.once('error', reject).once('finish', resolve).end(content)
      }),
  )
}

async function passing(
  pipe: Socket,
  { silentMs, longestMs }: Patience,
  work: (pipe: Socket) => Promise<void>,
): Promise<void> {
  const giveUp = () => pipe.destroy(new PipeTooSlow())
  pipe.setTimeout(silentMs, giveUp)
  const longest = setTimeout(giveUp, longestMs)
  try {
    await work(pipe)
  } finally {
    clearTimeout(longest)
    pipe.destroy()
  }
}
