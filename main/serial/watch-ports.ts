import { readFile, stat } from 'node:fs/promises'
import { lockedInodes } from './access.ts'
import { linuxNames, systemPorts } from './system-ports.ts'

/** Adapters come and go, and other programs take and leave them: looks once in a while, and tells what is new. */

const PERIOD_MS = 1000

/** Something that is equal for as long as the list of ports is; cheap, for it is asked for all the time. */
async function fingerprint(): Promise<string> {
  if (process.platform !== 'linux') return (await systemPorts()).map(port => port.path).join()
  const [names, locks] = await Promise.all([linuxNames(), readFile('/proc/locks', 'utf8').catch(() => '')])
  const locked = lockedInodes(locks)
  const seen = await Promise.all(
    names.map(async name => {
      const node = await stat(`/dev/${name}`).catch(() => undefined)
      return `${name} ${node?.mode} ${node?.gid} ${node !== undefined && locked.has(node.ino)}`
    }),
  )
  return seen.join()
}

export class PortWatch {
  readonly #tell: () => void
  readonly #look: () => Promise<string>
  readonly #periodMs: number
  #timer: NodeJS.Timeout | undefined
  #last: string | undefined
  #isLooking = false

  /** @param tell is called when the list of ports would be another one */
  constructor(tell: () => void, look: () => Promise<string> = fingerprint, periodMs = PERIOD_MS) {
    this.#tell = tell
    this.#look = look
    this.#periodMs = periodMs
  }

  /** Begins to look, if it does not yet; it does not keep the process alive. */
  start(): void {
    if (this.#timer !== undefined) return
    this.#timer = setInterval(() => void this.look(), this.#periodMs)
    this.#timer.unref()
    void this.look()
  }

  stop(): void {
    clearInterval(this.#timer)
    this.#timer = undefined
  }

  /** Looks once. Never rejects; what cannot be asked has not changed. */
  async look(): Promise<void> {
    if (this.#isLooking) return
    this.#isLooking = true
    try {
      const now = await this.#look()
      const isNew = this.#last !== undefined && now !== this.#last
      this.#last = now
      if (isNew) this.#tell()
    } catch {
      // The next look may find out.
    } finally {
      this.#isLooking = false
    }
  }
}
