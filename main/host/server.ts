import type { IncomingMessage, Server, ServerResponse } from 'node:http'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import type { Duplex } from 'node:stream'
import type { WebSocket } from 'ws'
import { WebSocketServer } from 'ws'
import { MAX_MESSAGE_BYTES } from '../../shared/api/envelope.ts'
import type { EventListener, Serve } from '../../shared/api/serve.ts'
import type { Problem } from '../../shared/model/problem.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import type { ConnectionLimits } from './connection.ts'
import { CLOSE, LIMITS, runConnection } from './connection.ts'
import { readAsset } from './files.ts'
import {
  allowHost,
  allowOrigin,
  allowToken,
  LOOPBACK,
  makeToken,
  PROTOCOL,
  shownToken,
  socketAddresses,
} from './guard.ts'
import { securityHeaders } from './headers.ts'

export interface HostOptions {
  /** Folder with the built pages. */
  readonly root: string
  /** 0 lets the system choose a free one. */
  readonly port: number
  readonly serve: Serve
  readonly listen: (listener: EventListener) => () => void
  readonly limits?: Partial<ConnectionLimits & { readonly messageBytes: number; readonly sockets: number }>
  readonly report?: (error: unknown) => void
}

export interface RunningHost {
  readonly port: number
  readonly token: string
  /** With the token in its fragment, which a browser never sends over the wire. */
  readonly url: string
  readonly server: Server
  /** Closes every socket and stops; resolves when the port is free again. */
  stop(): Promise<void>
}

const SOCKET_PATH = '/socket'
const MAX_SOCKETS = 16

/**
 * Serves the pages and the contract on 127.0.0.1, never on another address. Rejects with ProblemError `host.port`
 * when the port is taken or not allowed.
 */
export async function startHost(options: HostOptions): Promise<RunningHost> {
  const token = makeToken()
  const server = createServer({ maxHeaderSize: 16_384, requestTimeout: 10_000, headersTimeout: 10_000 })
  const sockets = socketServer(options.limits?.messageBytes ?? MAX_MESSAGE_BYTES)
  const strangers = socketServer(1_000)
  await bind(server, options.port)
  const port = (server.address() as AddressInfo).port
  const report = options.report ?? (() => {})
  const limits = { ...LIMITS, ...options.limits }
  const mostSockets = options.limits?.sockets ?? MAX_SOCKETS

  server.on('request', (request, response) => {
    answerRequest(request, response, options.root, port).catch(error => {
      report(error)
      response.destroy()
    })
  })
  server.on('upgrade', (request: IncomingMessage, raw: Duplex, head: Buffer) => {
    raw.on('error', () => raw.destroy())
    const refusal = refuseUpgrade(request, port, sockets.clients.size + strangers.clients.size, mostSockets)
    if (refusal !== undefined) {
      raw.end(`HTTP/1.1 ${refusal}\r\nConnection: close\r\nContent-Length: 0\r\n\r\n`)
    } else if (!allowToken(shownToken(request.headers['sec-websocket-protocol']), token)) {
      strangers.handleUpgrade(request, raw, head, turnAway)
    } else {
      sockets.handleUpgrade(request, raw, head, socket =>
        runConnection(socket, { serve: options.serve, listen: options.listen, limits, report }),
      )
    }
  })
  return {
    port,
    token,
    url: `http://${LOOPBACK}:${port}/#token=${token}`,
    server,
    stop: () => stopHost(server, sockets),
  }
}

function socketServer(maxPayload: number): WebSocketServer {
  const handleProtocols = () => PROTOCOL
  return new WebSocketServer({
    noServer: true,
    clientTracking: true,
    perMessageDeflate: false,
    maxPayload,
    handleProtocols,
  })
}

/** A page cannot see the status of a refused socket, so it is opened, told why, and closed unread. */
function turnAway(socket: WebSocket): void {
  socket.on('error', () => socket.terminate())
  socket.close(CLOSE.token, 'wrong token')
  const unheeded = setTimeout(() => socket.terminate(), 1_000)
  socket.once('close', () => clearTimeout(unheeded))
}

function bind(server: Server, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) => reject(new ProblemError(bindProblem(error, port))))
    server.listen({ host: LOOPBACK, port, exclusive: true }, resolve)
  })
}

function bindProblem(error: NodeJS.ErrnoException, port: number): Problem {
  const message =
    error.code === 'EADDRINUSE'
      ? `Port ${port} is already in use by another program.`
      : `Port ${port} cannot be used (${error.code ?? 'unknown reason'}).`
  return { code: 'host.port', message, remedy: 'Leave out --port, or name another one.' }
}

async function answerRequest(
  request: IncomingMessage,
  response: ServerResponse,
  root: string,
  port: number,
): Promise<void> {
  for (const [name, value] of Object.entries(securityHeaders(socketAddresses(port))))
    response.setHeader(name, value)
  if (!allowHost(request.headers.host, port)) return refuse(response, 421, 'This address is not served here.')
  if (!allowOrigin(request.headers.origin, port, false)) return refuse(response, 403, 'Not from this page.')
  if (request.method !== 'GET' && request.method !== 'HEAD') return refuse(response, 405, 'Only GET.')
  const path = (request.url ?? '/').split(/[?#]/, 1)[0]
  const asset = await readAsset(root, path)
  if (asset === undefined && path === '/favicon.ico') return noContent(response)
  if (asset === undefined) return refuse(response, 404, 'There is no such file.')
  response.setHeader('Content-Type', asset.contentType)
  response.setHeader('Content-Length', asset.bytes.length)
  response.setHeader('Cache-Control', asset.lasting ? 'private, max-age=31536000, immutable' : 'no-store')
  response.end(request.method === 'HEAD' ? undefined : asset.bytes)
}

/** Browsers ask for it unasked, and log an error when it is not there. */
function noContent(response: ServerResponse): void {
  response.statusCode = 204
  response.end()
}

function refuse(response: ServerResponse, status: number, message: string): void {
  response.statusCode = status
  response.setHeader('Content-Type', 'text/plain; charset=utf-8')
  response.setHeader('Connection', 'close')
  response.end(`${message}\n`)
}

/** The status line to refuse the socket with, or undefined when it may open (and then has to show the token). */
function refuseUpgrade(
  request: IncomingMessage,
  port: number,
  open: number,
  most: number,
): string | undefined {
  if (!allowHost(request.headers.host, port)) return '421 Misdirected Request'
  if (!allowOrigin(request.headers.origin, port, true)) return '403 Forbidden'
  if (request.url !== SOCKET_PATH) return '404 Not Found'
  return open >= most ? '503 Service Unavailable' : undefined
}

function stopHost(server: Server, sockets: WebSocketServer): Promise<void> {
  return new Promise(resolve => {
    for (const socket of sockets.clients) {
      socket.close(CLOSE.stopping, 'stopping')
      const unheeded = setTimeout(() => socket.terminate(), 500)
      socket.once('close', () => clearTimeout(unheeded))
    }
    sockets.close()
    server.close(() => resolve())
    server.closeIdleConnections()
  })
}
