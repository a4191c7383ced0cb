import { ProblemError } from '../../shared/model/problem.ts'
import { type Binding, CLOSED, isUnix, listenByThread, openBinding } from './binding.ts'
import { bounded, waitMs } from './bounded.ts'
import { EagerListening } from './eager-listening.ts'
import { Hearers } from './hearers.ts'
import { latencyOf } from './latency.ts'
import { LineClock } from './line-clock.ts'
import { cannotBeSet } from './open-problems.ts'
import { type ControlLines, type LineSettings, type OpenPort, PortLostError, sameSettings } from './port.ts'
import { Turns } from './turns.ts'
import { UnixEar, writeAll, writeSome } from './unix-octets.ts'

/**
 * A port of this computer, straight on the native binding: what the binding can get stuck in has a time limit, and a
 * port that has gone is told, whatever the binding makes of it.
 */

const CONTROL_MS = 1000
const CLOSE_MS = 1000
/** Beyond the time on the line, so long may a write wait for room before the port counts as gone. */
const WRITE_MS = 3000
const STUCK = 'The port takes nothing any more. Unplug the adapter and plug it in again.'

export interface LocalOptions {
  /** For people; the path where it is left out. */
  readonly label?: string | undefined
  /** USB vendor, where it is known: some families of chips have a known latency. */
  readonly vendorId?: string | undefined
}

/**
 * Opens a port of this computer.
 * @throws ProblemError `port.missing`, `port.in-use`, `port.no-permission`, `port.not-a-port`, `port.settings`,
 * `port.does-not-open`
 */
export async function openLocalPort(
  path: string,
  settings: LineSettings,
  { label, vendorId }: LocalOptions = {},
): Promise<OpenPort> {
  const binding = await openBinding(path, settings)
  const { ms } = await latencyOf(path, vendorId)
  return new LocalPort(binding, path, settings, label ?? path, ms)
}

/** All that are open in this process. */
const openPorts = new Set<OpenPort>()

class LocalPort implements OpenPort {
  readonly label: string
  readonly latencyMs: number
  readonly #path: string
  readonly #hearers = new Hearers()
  #binding: Binding
  #settings: LineSettings
  #lines = { dtr: true, rts: true, break: false }
  #linesSet = false
  readonly #turns = new Turns(() => (this.#closed ? CLOSED : this.#hearers.why))
  #ear: UnixEar | undefined
  readonly #eager: EagerListening
  readonly #line = new LineClock()
  #closed = false
  #reopening = false
  readonly onOctets = this.#hearers.onOctets
  readonly onLost = this.#hearers.onLost

  constructor(binding: Binding, path: string, settings: LineSettings, label: string, latencyMs: number) {
    this.#binding = binding
    this.#path = path
    this.#settings = settings
    this.label = label
    this.latencyMs = latencyMs
    this.#eager = new EagerListening(latencyMs)
    openPorts.add(this)
    this.#listen(binding)
  }

  get settings(): LineSettings {
    return this.#settings
  }

  write(octets: Uint8Array): Promise<void> {
    return this.#turns.take(async () => {
      const binding = this.#binding
      const nowMs = performance.now()
      this.#line.sent(octets.length, this.#settings, nowMs)
      try {
        // Mostly there is room for all of it, and nothing needs to be waited for.
        const done = isUnix(binding) ? writeSome(binding, octets) : 0
        if (done === octets.length) return
        const rest = octets.subarray(done)
        const writing = isUnix(binding) ? writeAll(binding, rest) : binding.write(Buffer.from(rest))
        await bounded(writing, this.#line.freeAtMs - nowMs + WRITE_MS, 'write')
      } catch (error) {
        const why = error instanceof PortLostError ? error.message : STUCK
        this.#lose(why)
        throw new PortLostError(why)
      }
    })
  }

  writeNow(octets: Uint8Array): number {
    const binding = this.#binding
    if (!this.#turns.isFree || this.#isOver(binding) || !isUnix(binding)) return 0
    if (this.#hearers.why !== undefined) throw new PortLostError(this.#hearers.why)
    const nowMs = performance.now()
    try {
      const done = writeSome(binding, octets)
      if (done > 0) this.#line.sent(done, this.#settings, nowMs)
      return done
    } catch (error) {
      if (error instanceof PortLostError) this.#lose(error.message)
      throw error
    }
  }

  hearSoon(): boolean {
    const ear = this.#ear
    // Others wait for their turn while one looks: with more than one port open each has to do without.
    if (ear === undefined || openPorts.size > 1 || this.#hearers.deaf > 0) return false
    return this.#eager.look(() => ear.look())
  }

  set(settings: LineSettings): Promise<void> {
    return this.#turns.take(async () => {
      if (sameSettings(settings, this.#settings)) return
      // Changing the settings throws away what has not left yet.
      await waitMs(Math.max(0, this.#line.freeAtMs - performance.now()))
      const { parity, stopBits } = this.#settings
      if (settings.parity === parity && settings.stopBits === stopBits) await this.#changeBaud(settings)
      else await this.#reopen(settings)
      this.#settings = settings
    })
  }

  lines(to: ControlLines): Promise<'done' | 'not-available'> {
    return this.#turns.take(async () => {
      const { dtr = this.#lines.dtr, rts = this.#lines.rts, break: brk = this.#lines.break } = to
      this.#lines = { dtr, rts, break: brk }
      return this.#applyLines()
    })
  }

  async flushInput(): Promise<void> {
    this.#hearers.deaf++
    try {
      await waitMs(this.latencyMs)
      await new Promise(resolve => setImmediate(resolve))
    } finally {
      this.#hearers.deaf--
    }
  }

  async close(): Promise<void> {
    if (this.#closed) return
    this.#closed = true
    this.#hearers.end()
    if (this.#linesSet && this.#hearers.why === undefined)
      await bounded(this.#binding.set({ brk: false, dtr: false, rts: false }), CONTROL_MS, 'set').catch(
        () => {},
      )
    await this.#shut()
  }

  #listen(binding: Binding): void {
    this.#ear = undefined
    const to = {
      heard: (octets: Uint8Array) => this.#heard(octets),
      lost: (why: string) => this.#lose(why),
      isOver: () => this.#isOver(binding),
    }
    if (!isUnix(binding)) return void listenByThread(binding, to)
    this.#ear = new UnixEar({ port: binding, ...to })
    this.#ear.listen()
  }

  #heard(octets: Uint8Array): void {
    this.#line.heard(performance.now())
    this.#eager.heard()
    this.#hearers.tell(octets)
  }

  #isOver(binding: Binding): boolean {
    return binding !== this.#binding || this.#closed || this.#reopening
  }

  #lose(why: string): void {
    this.#hearers.lose(why)
    void this.#shut()
  }

  /** What has not left by now is thrown away where the port is stuck, for a close would wait for it. */
  async #shut(): Promise<void> {
    openPorts.delete(this)
    // The binding does not bear to be closed from inside what its poller calls.
    await Promise.resolve()
    const binding = this.#binding
    if (!binding.isOpen) return
    if (this.#hearers.why === STUCK) await bounded(binding.flush(), CONTROL_MS, 'flush').catch(() => {})
    if (binding.isOpen) await bounded(binding.close(), CLOSE_MS, 'close').catch(() => {})
  }

  async #changeBaud(settings: LineSettings): Promise<void> {
    try {
      await bounded(this.#binding.update({ baudRate: settings.baud }), CONTROL_MS, 'update')
    } catch {
      throw new ProblemError(cannotBeSet(this.#path, settings))
    }
  }

  /** The binding can change the rate of an open port, but neither parity nor stop bits. */
  async #reopen(settings: LineSettings): Promise<void> {
    this.#reopening = true
    try {
      await bounded(this.#binding.close(), CLOSE_MS, 'close').catch(() => {})
      await this.#openAgain(settings)
    } finally {
      this.#reopening = false
    }
    if (this.#linesSet) await this.#applyLines()
  }

  async #openAgain(settings: LineSettings): Promise<void> {
    try {
      this.#take(await openBinding(this.#path, settings))
    } catch (error) {
      try {
        this.#take(await openBinding(this.#path, this.#settings))
      } catch {
        this.#lose(error instanceof ProblemError ? error.problem.message : String(error))
      }
      throw error
    }
  }

  #take(binding: Binding): void {
    this.#binding = binding
    this.#reopening = false
    if (this.#closed) void this.#shut()
    else this.#listen(binding)
  }

  async #applyLines(): Promise<'done' | 'not-available'> {
    const { dtr, rts, break: brk } = this.#lines
    try {
      await bounded(this.#binding.set({ brk, dtr, rts }), CONTROL_MS, 'set')
      this.#linesSet = true
      return 'done'
    } catch {
      return 'not-available'
    }
  }
}
