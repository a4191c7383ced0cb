import type { Socket } from 'node:net'
import { type ModemState, readServer } from '../../shared/wire/com-port-option.ts'
import { type Asking, askingOctets, OPTION, TelnetDecoder } from '../../shared/wire/telnet.ts'

/**
 * The telnet side of a connection to a serial server: what both agree on, what the server confirms, its data. Never
 * answers twice to the same, so that no two ends talk for ever about options (RFC 854).
 */
export interface ServerLinkHearer {
  data(octets: Uint8Array): void
  modemState(state: ModemState): void
}

/** What we ask for and allow: octets as they are, both ways, and the control of the port. */
const OURS: readonly number[] = [OPTION.comPort, OPTION.binary, OPTION.noGoAhead]
const THEIRS: readonly number[] = [OPTION.binary, OPTION.noGoAhead]

interface Awaited {
  readonly command: number
  readonly tell: (value: number | undefined) => void
}

export class ServerLink {
  readonly #socket: Socket
  readonly #hearer: ServerLinkHearer
  readonly #decoder: TelnetDecoder
  /** Options that are in force on our side and on theirs; absent where nothing was said. */
  readonly #ours = new Map<number, boolean>()
  readonly #theirs = new Map<number, boolean>()
  readonly #awaited = new Set<Awaited>()
  readonly #changes = new Set<() => void>()
  /** The server can take no more for the moment. */
  isSuspended = false

  constructor(socket: Socket, hearer: ServerLinkHearer) {
    this.#socket = socket
    this.#hearer = hearer
    this.#decoder = new TelnetDecoder({
      data: octets => hearer.data(octets),
      asking: (verb, option) => this.#asked(verb, option),
      parameters: (option, octets) => {
        if (option === OPTION.comPort) this.#heard(octets)
      },
    })
    socket.on('data', octets => this.#decoder.push(octets))
  }

  /** Says what we want to agree on. */
  begin(): void {
    for (const option of OURS) this.#say('will', option)
    for (const option of THEIRS) this.#say('do', option)
  }

  /** Whether the server has agreed to this option on our side; undefined while it has not said. */
  ours = (option: number): boolean | undefined => this.#ours.get(option)
  theirs = (option: number): boolean | undefined => this.#theirs.get(option)

  /** Resolves when `isSo`, looked at after each thing that the server says. */
  until(isSo: () => boolean): { readonly promise: Promise<void>; readonly giveUp: () => void } {
    if (isSo()) return { promise: Promise.resolve(), giveUp: () => {} }
    let look = () => {}
    const promise = new Promise<void>(resolve => {
      look = () => {
        if (!isSo()) return
        this.#changes.delete(look)
        resolve()
      }
      this.#changes.add(look)
    })
    return { promise, giveUp: () => this.#changes.delete(look) }
  }

  /** Sends a command and waits for its confirmation. @returns `undefined` when none comes in time */
  confirm(
    command: number,
    octets: Uint8Array,
    timeoutMs: number,
  ): Promise<{ readonly value: number | undefined } | undefined> {
    return new Promise(resolve => {
      const awaited: Awaited = {
        command,
        tell: value => {
          clearTimeout(timer)
          this.#awaited.delete(awaited)
          resolve({ value })
        },
      }
      const timer = setTimeout(() => {
        this.#awaited.delete(awaited)
        resolve(undefined)
      }, timeoutMs)
      this.#awaited.add(awaited)
      this.#socket.write(octets)
    })
  }

  #say(verb: Asking, option: number): void {
    this.#socket.write(askingOctets(verb, option))
  }

  #asked(verb: Asking, option: number): void {
    const isOurs = verb === 'do' || verb === 'dont'
    const [agreed, allowed] = isOurs ? [this.#ours, OURS] : [this.#theirs, THEIRS]
    const wants = verb === 'do' || verb === 'will'
    const before = agreed.get(option)
    agreed.set(option, wants && allowed.includes(option))
    // What we asked for ourselves needs no answer; anything else is turned down, once.
    if (before === undefined && wants && !allowed.includes(option))
      this.#say(isOurs ? 'wont' : 'dont', option)
    this.#changed()
  }

  #heard(octets: Uint8Array): void {
    const said = readServer(octets)
    if (said.says === 'suspend' || said.says === 'resume') this.isSuspended = said.says === 'suspend'
    if (said.says === 'modem-state') this.#hearer.modemState(said.state)
    if (said.says === 'confirmed')
      for (const awaited of [...this.#awaited])
        if (awaited.command === said.command) {
          awaited.tell(said.value)
          break
        }
    this.#changed()
  }

  #changed(): void {
    for (const look of [...this.#changes]) look()
  }
}
