/**
 * Who may talk to the host. Any page the browser has open can reach 127.0.0.1, so being local proves nothing:
 * the Host header defeats names that were re-pointed at 127.0.0.1 (DNS rebinding), the Origin header tells our page
 * from others, and the token tells our user from other users of the machine.
 */
import { createHash, randomBytes, timingSafeEqual } from 'node:crypto'

export const LOOPBACK = '127.0.0.1'
const TOKEN_BYTES = 32

/** 256 random bits, in letters that need no escaping in an address. */
export const makeToken = (): string => randomBytes(TOKEN_BYTES).toString('base64url')

const ownHosts = (port: number): readonly string[] => [`${LOOPBACK}:${port}`, `localhost:${port}`]

/** Whether the Host header is one of our own two names with our own port. */
export function allowHost(host: string | undefined, port: number): boolean {
  return host !== undefined && ownHosts(port).includes(host.toLowerCase())
}

/**
 * Whether the Origin header is our own page's. A browser sends it with every WebSocket, so for those (`required`)
 * its absence is refused; a plain GET may come without.
 */
export function allowOrigin(origin: string | undefined, port: number, required: boolean): boolean {
  if (origin === undefined) return !required
  return ownHosts(port).some(host => origin === `http://${host}`)
}

/** Compares in a time that tells nothing of where the two differ. */
export function allowToken(offered: unknown, token: string): boolean {
  if (typeof offered !== 'string') return false
  const digest = (text: string) => createHash('sha256').update(text).digest()
  return timingSafeEqual(digest(offered), digest(token))
}

/** The socket addresses that the policy lets our page open. */
export const socketAddresses = (port: number): readonly string[] => ownHosts(port).map(host => `ws://${host}`)

/** The protocol that the host speaks over its socket. */
export const PROTOCOL = 'preflash'
const TOKEN_PROTOCOL = `${PROTOCOL}.token.`

/**
 * The token that a page shows while the socket is opened, before any message. It rides in the list of protocols
 * (RFC 6455, 11.3.4), the only header a page can fill in: in the address it would end up in logs.
 */
export function shownToken(protocols: string | undefined): string | undefined {
  const shown = (protocols ?? '').split(',').map(protocol => protocol.trim())
  return shown.find(protocol => protocol.startsWith(TOKEN_PROTOCOL))?.slice(TOKEN_PROTOCOL.length)
}
