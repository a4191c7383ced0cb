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
    on(event: 'readable', hear: (error: Error | null) => void): unknown
    /** Watches until the next event. */
    poll(eventFlag: number): void
  }
}

const GONE = 'The port has gone: it was unplugged, or closed from its other end.'
/** So often in a row "there is something" may be followed by "there is nothing" before the port counts as gone. */
const MOST_EMPTY_TURNS = 1000
const READ_OCTETS = 16_384
/** The poller's flag for it. */
const READABLE = 1
const NOW = Promise.resolve()

const notNow = (error: unknown) => ['EAGAIN', 'EWOULDBLOCK', 'EINTR'].includes(errorCode(error))

/** The binding's poller watches for one thing at a time, and that is for reading; room is looked for by the clock. */
const ROOM_MS = 1

const descriptor = (port: UnixPort): number => {
  if (!port.isOpen || port.fd === null) throw new PortLostError(GONE)
  return port.fd
}

export interface UnixEarOptions {
  readonly port: UnixPort
  /** The octets are the listener's own. */
  readonly heard: (octets: Uint8Array) => void
  /** The port has gone; told once, and nothing after it. */
  readonly lost: (why: string) => void
  /** Nobody listens on this port any more. */
  readonly isOver: () => boolean
}

/** Hears what arrives on a port until it has gone or nobody listens any more. */
export class UnixEar {
  readonly #o: UnixEarOptions
  readonly #into = new Uint8Array(READ_OCTETS)
  readonly #watch = () => this.#watchOn()
  #emptyTurns = 0
  #isLost = false

  constructor(options: UnixEarOptions) {
    this.#o = options
  }

  /** Tells from now on, as things arrive. Not to be called twice. */
  listen(): void {
    this.#o.port.poller.on('readable', error => this.#turn(error))
    this.#watchOn()
  }

  #watchOn(): void {
    const { port, isOver } = this.#o
    if (this.#isLost || isOver()) return
    try {
      descriptor(port)
      port.poller.poll(READABLE)
    } catch {
      this.#lose()
    }
  }

  /**
   * One look whether something has arrived.
   * @returns true when it was told, or when the port has gone
   */
  look(): boolean {
    if (this.#isLost || this.#o.isOver()) return true
    let count = 0
    const { stackTraceLimit } = Error
    // Nothing to read is an error to Node.js, and most of what a look costs is the record of where that happened.
    Error.stackTraceLimit = 0
    try {
      count = readSync(descriptor(this.#o.port), this.#into, 0, READ_OCTETS, null)
    } catch (error) {
      if (notNow(error)) return false
    } finally {
      Error.stackTraceLimit = stackTraceLimit
    }
    if (count < 1) {
      this.#lose()
      return true
    }
    this.#emptyTurns = 0
    try {
      this.#o.heard(this.#into.slice(0, count))
    } catch (error) {
      this.#lose(`The port has gone (${String(error)}).`)
    }
    return true
  }

  /**
   * The poller says that there is something. Asking it again is put off until whoever waited has gone on: that may
   * be the next block, and it need not wait for us.
   */
  #turn(error: Error | null): void {
    if (this.#isLost || this.#o.isOver()) return
    if (error || (!this.look() && ++this.#emptyTurns >= MOST_EMPTY_TURNS)) return this.#lose()
    void NOW.then(this.#watch)
  }

  #lose(why = GONE): void {
    if (this.#isLost) return
    this.#isLost = true
    this.#o.lost(why)
  }
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
