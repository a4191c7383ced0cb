import { connect, type Socket } from 'node:net'
import { ProblemError } from '../../shared/model/problem.ts'
import {
  baudOctets,
  COM_PORT,
  CONTROL_VALUE,
  commandOctets,
  type ModemState,
  PARITY_VALUE,
  PURGE_VALUE,
  STOP_SIZE_VALUE,
} from '../../shared/wire/com-port-option.ts'
import { escapeData, OPTION } from '../../shared/wire/telnet.ts'
import { bounded, waitMs } from './bounded.ts'
import { Hearers } from './hearers.ts'
import type { Latency } from './latency.ts'
import { FTDI_DEFAULT_MS } from './latency.ts'
import { cannotBeSet } from './open-problems.ts'
import {
  type ControlLines,
  type LineSettings,
  lineMs,
  type OpenPort,
  PortLostError,
  sameSettings,
} from './port.ts'
import { ServerLink } from './server-link.ts'
import { hungUp, notThere, notTransparent, speaksOtherwise } from './server-problems.ts'
import { Turns } from './turns.ts'

/** A port that a serial server lends over the network (RFC 2217): a telnet connection that also carries settings. */

const CONNECT_MS = 5000
const AGREE_MS = 3000
const CONFIRM_MS = 2000
const CONTROL_MS = 700
const WRITE_MS = 5000
const CLOSE_MS = 500
const DATA_BITS = 8
const ALL_MODEM_LINES = 255

/** Before it is opened nothing is known of the way there. */
export const SERVER_LATENCY: Latency = {
  ms: 40,
  from: 'allowed for network and adapter; measured when the port is opened',
}

const GONE = 'The serial server has ended the connection.'

/**
 * Opens a port of a serial server.
 * @throws ProblemError `port.server-not-there`, `port.server-other` (it speaks no RFC 2217), `port.server-ended` (it
 * hung up before the port was open), `port.settings`
 */
export async function openServerPort(
  { host, port }: { readonly host: string; readonly port: number },
  settings: LineSettings,
  label = `${host}:${port}`,
): Promise<Rfc2217Port> {
  const socket = connect({ host, port })
  socket.setNoDelay(true)
  socket.setKeepAlive(true, 10_000)
  try {
    await bounded(connected(socket), CONNECT_MS, 'connect')
  } catch {
    socket.destroy()
    throw new ProblemError(notThere(`${host}:${port}`))
  }
  const opened = new Rfc2217Port(socket, label, `${host}:${port}`, settings)
  try {
    await opened.begin()
    return opened
  } catch (error) {
    socket.destroy()
    if (error instanceof PortLostError) throw new ProblemError(hungUp(`${host}:${port}`))
    throw error
  }
}

const connected = (socket: Socket): Promise<void> =>
  new Promise((resolve, reject) => {
    socket.once('connect', resolve)
    socket.once('error', reject)
  })

export class Rfc2217Port implements OpenPort {
  readonly label: string
  latencyMs = SERVER_LATENCY.ms
  /** The modem lines at the port of the server, once it has told; changes are in `onModemState`. */
  modemState: ModemState | undefined
  onModemState: (state: ModemState) => void = () => {}
  readonly #socket: Socket
  readonly #place: string
  readonly #link: ServerLink
  readonly #hearers = new Hearers()
  #settings: LineSettings
  readonly #turns = new Turns(() => (this.#closed ? 'The port is closed.' : this.#hearers.why))
  #closed = false
  readonly #missing = new Set<string>()
  #roundTripMs = 0
  readonly onOctets = this.#hearers.onOctets
  readonly onLost = this.#hearers.onLost

  constructor(socket: Socket, label: string, place: string, settings: LineSettings) {
    this.#socket = socket
    this.label = label
    this.#place = place
    this.#settings = settings
    this.#link = new ServerLink(socket, {
      data: octets => this.#hearers.tell(octets),
      modemState: state => {
        this.modemState = state
        this.onModemState(state)
      },
    })
    for (const end of ['end', 'close', 'error'] as const)
      socket.on(end, () => {
        if (!this.#closed) this.#hearers.lose(GONE)
        socket.destroy()
      })
  }

  get settings(): LineSettings {
    return this.#settings
  }

  /** Agrees with the server and sets the line. What the server says before that, a banner, is nobody's. */
  async begin(): Promise<void> {
    this.#hearers.deaf++
    this.#link.begin()
    const agreed = this.#link.until(
      () => this.#link.ours(OPTION.comPort) !== undefined && this.#link.ours(OPTION.binary) !== undefined,
    )
    try {
      await this.#orLost(bounded(agreed.promise, AGREE_MS, 'agree'))
    } catch (error) {
      if (error instanceof PortLostError) throw error
      throw new ProblemError(speaksOtherwise(this.#place))
    } finally {
      agreed.giveUp()
    }
    if (this.#link.ours(OPTION.comPort) !== true) throw new ProblemError(speaksOtherwise(this.#place))
    if (this.#link.ours(OPTION.binary) !== true) throw new ProblemError(notTransparent(this.#place))
    await this.#apply(this.#settings)
    const noFlowControl = commandOctets(COM_PORT.setControl, CONTROL_VALUE.noFlowControl)
    await this.#orLost(this.#link.confirm(COM_PORT.setControl, noFlowControl, CONTROL_MS))
    this.#socket.write(commandOctets(COM_PORT.setModemStateMask, ALL_MODEM_LINES))
    this.latencyMs = Math.ceil(2 * this.#roundTripMs) + FTDI_DEFAULT_MS
    this.#hearers.deaf--
  }

  write(octets: Uint8Array): Promise<void> {
    return this.#turns.take(async () => {
      const limitMs = lineMs(octets.length, this.#settings) + WRITE_MS
      try {
        await this.#orLost(bounded(this.#send(octets), limitMs, 'write'))
      } catch (error) {
        const why =
          error instanceof PortLostError ? error.message : 'The serial server takes nothing any more.'
        this.#hearers.lose(why)
        this.#socket.destroy()
        throw new PortLostError(why)
      }
    })
  }

  set(settings: LineSettings): Promise<void> {
    return this.#turns.take(async () => {
      if (sameSettings(settings, this.#settings)) return
      await this.#apply(settings)
      this.#settings = settings
    })
  }

  lines({ dtr, rts, break: brk }: ControlLines): Promise<'done' | 'not-available'> {
    return this.#turns.take(async () => {
      const { dtrOn, dtrOff, rtsOn, rtsOff, breakOn, breakOff } = CONTROL_VALUE
      const set = [
        await this.#line('dtr', dtr, dtrOn, dtrOff),
        await this.#line('rts', rts, rtsOn, rtsOff),
        await this.#line('break', brk, breakOn, breakOff),
      ]
      return set.every(isSet => isSet) ? 'done' : 'not-available'
    })
  }

  async flushInput(): Promise<void> {
    this.#hearers.deaf++
    try {
      const octets = commandOctets(COM_PORT.purgeData, PURGE_VALUE.received)
      const confirmed = await this.#turns.take(() => this.#confirm(COM_PORT.purgeData, octets, CONTROL_MS))
      if (confirmed === undefined) await waitMs(this.latencyMs)
    } finally {
      this.#hearers.deaf--
    }
  }

  async close(): Promise<void> {
    if (this.#closed) return
    this.#closed = true
    this.#hearers.end()
    if (this.#socket.destroyed) return
    const ended = new Promise<void>(resolve => this.#socket.once('close', () => resolve()))
    this.#socket.end()
    await bounded(ended, CLOSE_MS, 'close').catch(() => {})
    this.#socket.destroy()
  }

  /** What a server says is in force afterwards differs between servers; that it says anything is what counts. */
  async #line(name: string, to: boolean | undefined, on: number, off: number): Promise<boolean> {
    if (to === undefined) return true
    // A server that has kept silent about this line once is not waited for again.
    if (this.#missing.has(name)) return false
    const octets = commandOctets(COM_PORT.setControl, to ? on : off)
    const isSet = (await this.#confirm(COM_PORT.setControl, octets, CONTROL_MS)) !== undefined
    if (!isSet) this.#missing.add(name)
    return isSet
  }

  /** RFC 2217, section 5: a server that can take no more says so, and when it can again. */
  async #send(octets: Uint8Array): Promise<void> {
    const free = this.#link.until(() => !this.#link.isSuspended)
    await free.promise
    await new Promise<void>((resolve, reject) => {
      this.#socket.write(escapeData(octets), error => (error ? reject(new PortLostError(GONE)) : resolve()))
    })
  }

  /** In the order that RFC 2217 recommends. */
  async #apply({ baud, parity, stopBits }: LineSettings): Promise<void> {
    const wanted: readonly (readonly [number, Uint8Array, number])[] = [
      [COM_PORT.setBaudRate, baudOctets(baud), baud],
      ...(
        [
          [COM_PORT.setDataSize, DATA_BITS],
          [COM_PORT.setParity, PARITY_VALUE[parity]],
          [COM_PORT.setStopSize, STOP_SIZE_VALUE[stopBits]],
        ] as const
      ).map(([command, value]) => [command, commandOctets(command, value), value] as const),
    ]
    for (const [command, octets, value] of wanted) {
      const confirmed = await this.#confirm(command, octets, CONFIRM_MS)
      if (confirmed?.value !== value)
        throw new ProblemError(cannotBeSet(this.#place, { baud, parity, stopBits }))
    }
  }

  async #confirm(command: number, octets: Uint8Array, timeoutMs: number) {
    const askedAtMs = performance.now()
    const confirmed = await this.#orLost(this.#link.confirm(command, octets, timeoutMs))
    if (confirmed !== undefined)
      this.#roundTripMs = Math.max(this.#roundTripMs, performance.now() - askedAtMs)
    return confirmed
  }

  /** What is waited for ends when the connection does. */
  async #orLost<T>(promise: Promise<T>): Promise<T> {
    let stop = () => {}
    const lost = new Promise<never>((_, reject) => {
      stop = this.#hearers.onLost(why => reject(new PortLostError(why)))
    })
    try {
      return await Promise.race([promise, lost])
    } finally {
      stop()
    }
  }
}
