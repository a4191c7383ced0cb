import { failed, type Problem, type Result, succeeded } from '../../shared/model/problem.ts'

/** What everything above a port knows of it: octets out, octets in, settings, and that it may go at any moment. */

/** How the line is set; there are always 8 data bits. */
export interface LineSettings {
  readonly baud: number
  readonly parity: 'none' | 'even' | 'odd'
  readonly stopBits: 1 | 2
}

/** The control lines and the break condition; what is left out stays as it is. */
export interface ControlLines {
  readonly dtr?: boolean | undefined
  readonly rts?: boolean | undefined
  readonly break?: boolean | undefined
}

export interface OpenPort {
  /** For people: the name given, or the path. */
  readonly label: string
  /** The latency timer: how late an answer may be handed over, in milliseconds. */
  readonly latencyMs: number
  /** As they are in force now. */
  readonly settings: LineSettings
  /**
   * Resolves when the octets are handed to the system, in the order of the calls; they may still be on their way out.
   * @throws PortLostError when the port has gone, or takes nothing any more
   */
  write(octets: Uint8Array): Promise<void>
  /**
   * Hands to the system what it takes at once; the rest, and all of it where something else has to come before, is
   * for `write`. Ports that have to wait do not have it.
   * @returns how many octets were handed over
   * @throws PortLostError
   */
  writeNow?(octets: Uint8Array): number
  /**
   * Looks for a fraction of a millisecond whether an answer arrives; what does is told to the listeners meanwhile.
   * Only where that has proved worth it. @returns whether something was told
   */
  hearSoon?(): boolean
  /** Everything that arrives, as it arrives. The octets are the listener's own. @returns how to stop listening */
  onOctets(hear: (octets: Uint8Array) => void): () => void
  /** Unplugged, or the server has gone; told once, at once to whoever asks after it happened. Not told after `close`. */
  onLost(hear: (why: string) => void): () => void
  /** @throws PortLostError; ProblemError `port.settings` where the port cannot be set so */
  set(settings: LineSettings): Promise<void>
  /** `not-available` where this port does not have them, as pairs of pseudo-terminals do not. @throws PortLostError */
  lines(to: ControlLines): Promise<'done' | 'not-available'>
  /** Forgets what has arrived until now, and what the adapter still holds of it. */
  flushInput(): Promise<void>
  /** Never hangs and never rejects: what does not end in its time is left behind. */
  close(): Promise<void>
}

/** A port of this computer, or one that a serial server lends by RFC 2217. */
export type PortPlace =
  | { readonly kind: 'local'; readonly path: string }
  | { readonly kind: 'rfc2217'; readonly host: string; readonly port: number }

/** The port has gone, or has stopped taking octets; `message` says it in words for a person. */
export class PortLostError extends Error {
  constructor(why: string) {
    super(why)
    this.name = 'PortLostError'
  }
}

/** A character's bits on the line: start, 8 data, parity, stop. */
export const bitsPerCharacter = ({ parity, stopBits }: LineSettings): number =>
  9 + (parity === 'none' ? 0 : 1) + stopBits

/** How long so many octets take on the line, in milliseconds. */
export const lineMs = (octets: number, settings: LineSettings): number =>
  (octets * bitsPerCharacter(settings) * 1000) / settings.baud

export const sameSettings = (a: LineSettings, b: LineSettings): boolean =>
  a.baud === b.baud && a.parity === b.parity && a.stopBits === b.stopBits

/** `115200 8N1`. */
export const settingsText = ({ baud, parity, stopBits }: LineSettings): string =>
  `${baud} 8${{ none: 'N', even: 'E', odd: 'O' }[parity]}${stopBits}`

const SERVER = /^(?:rfc2217:\/\/)?(\[[0-9a-f:]+\]|[a-z0-9](?:[a-z0-9.-]*[a-z0-9])?):(\d{1,5})$/i
const LOCAL = /^(?:\/[^\0]{1,4000}|COM\d{1,3}|\\\\\.\\[^\0]{1,200})$/i

/**
 * What somebody typed as a port: a path (`/dev/ttyUSB0`, `COM3`) or a serial server (`host:port`).
 * @returns `port.place` where it is neither
 */
export function readPlace(typed: string): Result<PortPlace> {
  const text = typed.trim()
  if (LOCAL.test(text)) return succeeded({ kind: 'local', path: text })
  const server = SERVER.exec(text)
  const port = Number(server?.[2])
  if (server && port >= 1 && port <= 65_535)
    return succeeded({ kind: 'rfc2217', host: server[1].replace(/^\[|\]$/g, ''), port })
  return failed(notAPlace(text))
}

const notAPlace = (text: string): Problem => ({
  code: 'port.place',
  field: 'port',
  message: `"${text.slice(0, 60)}" is not the name of a port.`,
  expected:
    'a path such as /dev/ttyUSB0 or COM3, or a serial server: its name, a colon, its port number, such as workshop.local:2217',
})

/** A place as it is typed and shown, and by which it is known. */
export function placeText(place: PortPlace): string {
  if (place.kind === 'local') return place.path
  return `${place.host.includes(':') ? `[${place.host}]` : place.host}:${place.port}`
}
