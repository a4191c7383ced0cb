import type { Live } from '../../shared/sim/live.ts'
import type { OpenPort } from './port.ts'

/**
 * Plays a live table on a port: simulated time follows the clock, and what the receiver says goes out when it is due.
 * Where this program is held up, the table catches up event by event, so nothing is left out; how late octets went out
 * is counted and told.
 */

export interface EmulatorOptions {
  readonly port: OpenPort
  readonly live: Live
  /** Closes the port so long after the first octet of the host: the adapter is pulled. */
  readonly unplugAfterMs?: number | undefined
  /** Ends so long after the last octet of the host, once it has said one; never where left out. */
  readonly quietEndsMs?: number | undefined
  /** Ends so long after it began where the host has said nothing at all; never where left out. */
  readonly noHostEndsMs?: number | undefined
  /** Says also what is on the line before the host has said anything; see `EmulationRequest`. */
  readonly talksFirst?: boolean
  /** A clock that only goes forward, in milliseconds. */
  readonly nowMs?: () => number
}

export interface Lateness {
  /** How often octets went out, and how much later than they were due: on average and at the worst. */
  readonly times: number
  readonly meanMs: number
  readonly worstMs: number
}

export interface EmulatorEnd {
  readonly why: 'stopped' | 'unplugged' | 'quiet' | 'no-host' | 'port-lost'
  /** One plain sentence. */
  readonly text: string
  readonly playedMs: number
  /** From the first octet of the host to its last, in milliseconds. */
  readonly hostMs: number
  /** From one answer of the receiver to the next with octets of the host between, in milliseconds: the middle of all. */
  readonly exchangeMs: number
  readonly heardOctets: number
  readonly saidOctets: number
  /** Octets that the host poured in faster than they can be kept. */
  readonly overrunOctets: number
  readonly lateness: Lateness
}

const NS_PER_MS = 1e6
/** Timers fire up to a millisecond late; the rest of the way the event loop goes round without one. */
const TIMER_MS = 1.5
const CYCLE_MS = 400
const AT_EASE_MS = 50
const MOST_EXCHANGES = 10_000

export class Emulator {
  /** Resolves when it has ended, by whatever; never rejects. */
  readonly ended: Promise<EmulatorEnd>
  readonly #o: EmulatorOptions
  readonly #nowMs: () => number
  readonly #startMs: number
  readonly #unlisten: (() => void)[]
  #resolve: (end: EmulatorEnd) => void = () => {}
  #timer: NodeJS.Timeout | undefined
  #round: NodeJS.Immediate | undefined
  #isOver = false
  #switchOnAtMs: number | undefined
  #lastHeardMs = 0
  #heardOctets = 0
  #saidOctets = 0
  #saidAtMs: number | undefined
  #wasAsked = false
  readonly #exchangesMs: number[] = []
  #late = { times: 0, sumMs: 0, worstMs: 0 }

  /** Begins at once. */
  constructor(options: EmulatorOptions) {
    this.#o = options
    this.#nowMs = options.nowMs ?? (() => performance.now())
    this.#startMs = this.#nowMs()
    this.ended = new Promise(resolve => {
      this.#resolve = resolve
    })
    const { port } = options
    this.#unlisten = [
      port.onOctets(octets => this.#hear(octets)),
      port.onLost(why => void this.#end('port-lost', why)),
    ]
    this.#goOn()
  }

  /** Closes the port and ends. */
  stop(): Promise<EmulatorEnd> {
    return this.#end('stopped', 'The emulator was stopped.')
  }

  /** Switches the receiver off, and on again after a moment. */
  powerCycle(): void {
    if (this.#isOver || this.#switchOnAtMs !== undefined) return
    this.#o.live.runTo(this.#nowNs())
    this.#o.live.device.switchOff()
    this.#switchOnAtMs = this.#elapsedMs() + CYCLE_MS
    this.#goOn()
  }

  #elapsedMs(): number {
    return this.#nowMs() - this.#startMs
  }

  #nowNs(): number {
    return Math.round(this.#elapsedMs() * NS_PER_MS)
  }

  #hear(octets: Uint8Array): void {
    if (this.#isOver) return
    const nowNs = this.#nowNs()
    const { live } = this.#o
    live.runTo(nowNs)
    // Before the host's first octet nobody was listening: only what comes from now on is for it.
    if (live.begunNs === undefined && !this.#o.talksFirst) live.taken()
    live.hear(octets, nowNs)
    this.#heardOctets += octets.length
    this.#wasAsked = true
    this.#lastHeardMs = this.#elapsedMs()
    this.#goOn()
  }

  /** Lets the table live up to now, says what is due, and comes back when the next thing is. */
  #goOn(): void {
    if (this.#isOver) return
    clearTimeout(this.#timer)
    clearImmediate(this.#round)
    this.#timer = undefined
    this.#round = undefined
    if (this.#switchOnAtMs !== undefined && this.#elapsedMs() >= this.#switchOnAtMs) {
      this.#switchOnAtMs = undefined
      this.#o.live.device.switchOn()
    }
    this.#o.live.runTo(this.#nowNs())
    this.#say()
    const over = this.#overBy()
    if (over) return void this.#end(...over)
    const waitMs = this.#nextMs() - this.#elapsedMs()
    if (waitMs === Number.POSITIVE_INFINITY) return
    const again = () => this.#goOn()
    if (waitMs >= TIMER_MS) this.#timer = setTimeout(again, Math.min(Math.floor(waitMs - 1), 60_000))
    else this.#round = setImmediate(again)
  }

  #say(): void {
    const { port, live, talksFirst } = this.#o
    const heard = live.taken()
    if (heard.length === 0 || (live.begunNs === undefined && !talksFirst)) return
    const nowNs = this.#nowNs()
    for (const { atNs, octets } of heard) {
      const lateMs = (nowNs - atNs) / NS_PER_MS
      this.#late.times++
      this.#late.sumMs += lateMs
      this.#late.worstMs = Math.max(this.#late.worstMs, lateMs)
      this.#saidOctets += octets.length
    }
    this.#noteExchange()
    const octets = heard.length === 1 ? heard[0].octets : joined(heard.map(h => h.octets))
    port.write(octets).catch((error: unknown) => {
      void this.#end('port-lost', error instanceof Error ? error.message : String(error))
    })
  }

  #noteExchange(): void {
    const nowMs = this.#elapsedMs()
    if (this.#wasAsked && this.#saidAtMs !== undefined && this.#exchangesMs.length < MOST_EXCHANGES)
      this.#exchangesMs.push(nowMs - this.#saidAtMs)
    this.#wasAsked = false
    this.#saidAtMs = nowMs
  }

  #unplugMs(): number {
    const { live, unplugAfterMs } = this.#o
    if (unplugAfterMs === undefined || live.begunNs === undefined) return Number.POSITIVE_INFINITY
    return live.begunNs / NS_PER_MS + unplugAfterMs
  }

  #quietMs(): number {
    const { quietEndsMs } = this.#o
    if (quietEndsMs === undefined || this.#heardOctets === 0) return Number.POSITIVE_INFINITY
    return this.#lastHeardMs + quietEndsMs
  }

  #noHostMs(): number {
    const { noHostEndsMs } = this.#o
    if (noHostEndsMs === undefined || this.#heardOctets > 0) return Number.POSITIVE_INFINITY
    return noHostEndsMs
  }

  #nextMs(): number {
    const { live, talksFirst } = this.#o
    const switchOnMs = this.#switchOnAtMs ?? Number.POSITIVE_INFINITY
    // Nobody hears what happens before the host speaks: then it need not happen on the dot.
    const atEaseMs = live.begunNs === undefined && !talksFirst ? this.#elapsedMs() + AT_EASE_MS : 0
    const deviceMs = Math.max(live.nextNs / NS_PER_MS, atEaseMs)
    return Math.min(deviceMs, switchOnMs, this.#unplugMs(), this.#quietMs(), this.#noHostMs())
  }

  #overBy(): ['unplugged' | 'quiet' | 'no-host', string] | undefined {
    const elapsedMs = this.#elapsedMs()
    if (elapsedMs >= this.#unplugMs()) return ['unplugged', 'The adapter was pulled, as the fault says.']
    if (elapsedMs >= this.#quietMs()) return ['quiet', 'The host has said nothing more.']
    if (elapsedMs >= this.#noHostMs())
      return ['no-host', `No host has said anything in ${Math.round(elapsedMs / 100) / 10} s.`]
    return undefined
  }

  async #end(why: EmulatorEnd['why'], text: string): Promise<EmulatorEnd> {
    if (this.#isOver) return this.ended
    this.#isOver = true
    clearTimeout(this.#timer)
    clearImmediate(this.#round)
    for (const unlisten of this.#unlisten) unlisten()
    const playedMs = this.#elapsedMs()
    await this.#o.port.close()
    const { times, sumMs, worstMs } = this.#late
    this.#resolve({
      why,
      text,
      playedMs,
      hostMs: this.#heardOctets === 0 ? 0 : this.#lastHeardMs - (this.#o.live.begunNs ?? 0) / NS_PER_MS,
      exchangeMs: middleOf(this.#exchangesMs),
      heardOctets: this.#heardOctets,
      saidOctets: this.#saidOctets,
      overrunOctets: this.#o.live.overrunOctets,
      lateness: { times, meanMs: times === 0 ? 0 : sumMs / times, worstMs },
    })
    return this.ended
  }
}

const middleOf = (times: readonly number[]): number =>
  times.length === 0 ? 0 : times.toSorted((a, b) => a - b)[Math.floor(times.length / 2)]

function joined(parts: readonly Uint8Array[]): Uint8Array {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0))
  let at = 0
  for (const part of parts) {
    whole.set(part, at)
    at += part.length
  }
  return whole
}
