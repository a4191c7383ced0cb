import { readSync, writeSync } from 'node:fs'
import { errorCode } from '../store/atomic-write.ts'
import { waitMs } from './bounded.ts'
import { PortLostError } from './port.ts'

/**
 * Reading and writing on an open port of Linux or macOS, on the binding's descriptor, which never blocks. The
 * binding's own read takes "0 octets" for "read again", so that a hang-up leaves it spinning; here it is an end. And
 * a pass through a thread for every octet costs more than the octet.
 */
export interface UnixPort {
  readonly isOpen: boolean
  readonly fd: number | null
  readonly poller: {
    once(event: 'readable', hear: (error: Error | null) => void): unknown
  }
}

const GONE = 'The port has gone: its cable was pulled, or whoever lent it has ended.'
/** So often in a row "there is something" may be followed by "there is nothing" before the port counts as gone. */
const MOST_EMPTY_TURNS = 1000

const notNow = (error: unknown) => ['EAGAIN', 'EWOULDBLOCK', 'EINTR'].includes(errorCode(error))

const untilReadable = (port: UnixPort): Promise<void> =>
  new Promise((resolve, reject) => {
    port.poller.once('readable', error => (error ? reject(new PortLostError(GONE)) : resolve()))
  })
/** The binding's poller watches for one thing at a time, and that is for reading; room is looked for by the clock. */
const ROOM_MS = 1

const descriptor = (port: UnixPort): number => {
  if (!port.isOpen || port.fd === null) throw new PortLostError(GONE)
  return port.fd
}

/**
 * Waits until there is something. Asking first whether there is would mostly be answered with an error, which costs
 * more than the wait.
 * @returns how many octets were read, 1 at the least. @throws PortLostError
 */
export async function readSome(port: UnixPort, into: Uint8Array): Promise<number> {
  for (let empty = 0; empty < MOST_EMPTY_TURNS; empty++) {
    descriptor(port)
    await untilReadable(port)
    const fd = descriptor(port)
    try {
      const count = readSync(fd, into, 0, into.length, null)
      if (count > 0) return count
      break
    } catch (error) {
      if (!notNow(error)) break
    }
  }
  throw new PortLostError(GONE)
}

/** Writes what there is room for, without waiting. @returns how many octets. @throws PortLostError */
export function writeSome(port: UnixPort, octets: Uint8Array): number {
  for (let done = 0; ; ) {
    if (done === octets.length) return done
    const fd = descriptor(port)
    try {
      done += writeSync(fd, octets, done, octets.length - done)
    } catch (error) {
      if (!notNow(error)) throw new PortLostError(GONE)
      return done
    }
  }
}

/** Writes all of it, waiting for room. @throws PortLostError */
export async function writeAll(port: UnixPort, octets: Uint8Array): Promise<void> {
  for (let done = 0; done < octets.length; ) {
    await waitMs(ROOM_MS)
    done += writeSome(port, octets.subarray(done))
  }
}
