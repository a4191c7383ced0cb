import type { CallEnvelope, Envelope } from '../../shared/api/envelope.ts'
import { decodeEnvelope, encodeEnvelope, isCall, MAX_MESSAGE_BYTES } from '../../shared/api/envelope.ts'
import type { EventListener, Serve } from '../../shared/api/serve.ts'
import type { Problem } from '../../shared/model/problem.ts'
import { ProblemError } from '../../shared/model/problem.ts'

/** The part of a `ws` socket that a connection uses. */
export interface SocketLike {
  readonly bufferedAmount: number
  send(data: string | Uint8Array): void
  close(code: number, reason: string): void
  terminate(): void
  on(event: 'message', listener: (data: Buffer, isBinary: boolean) => void): unknown
  on(event: 'close', listener: () => void): unknown
  on(event: 'error', listener: (error: Error) => void): unknown
}

/** Why the host closes a socket; the page tells them apart by these. */
export const CLOSE = { malformed: 4400, token: 4401, busy: 4429, stopping: 1001 } as const

export interface ConnectionLimits {
  /** Calls of one page that may be under way at once. */
  readonly callsAtOnce: number
  /** Octets that may wait for a page that does not read. */
  readonly waitingBytes: number
}
export const LIMITS: ConnectionLimits = { callsAtOnce: 64, waitingBytes: MAX_MESSAGE_BYTES * 2 }

export interface ConnectionEnv {
  readonly serve: Serve
  readonly listen: (listener: EventListener) => () => void
  readonly limits: ConnectionLimits
  readonly report: (error: unknown) => void
}

/**
 * One page's socket, from the shown token to the end: calls in, replies and events out, all as binary envelopes.
 * A message that cannot be read ends the socket, for a page of ours never sends one.
 */
export function runConnection(socket: SocketLike, env: ConnectionEnv): void {
  let open = true
  let callsUnderWay = 0

  function send(envelope: Envelope): void {
    if (!open) return
    if (socket.bufferedAmount > env.limits.waitingBytes) {
      // A page that does not read would not read a closing message either.
      settle()
      socket.terminate()
      return
    }
    socket.send(encodeEnvelope(envelope))
  }
  const stopListening = env.listen((event, data) => {
    try {
      send({ event, data })
    } catch (error) {
      env.report(error)
    }
  })
  function settle(): void {
    open = false
    stopListening()
  }
  function close(code: number, reason: string): void {
    settle()
    socket.close(code, reason)
  }
  async function answer(call: CallEnvelope): Promise<void> {
    callsUnderWay += 1
    const outcome = await env.serve(call.method, call.request)
    callsUnderWay -= 1
    try {
      send({ id: call.id, ...outcome } as Envelope)
    } catch (error) {
      send({ id: call.id, ok: false, problems: [sendingProblem(error, env.report)] })
    }
  }

  socket.on('message', (data, isBinary) => {
    if (!open) return
    const call = isBinary ? readCall(data) : undefined
    if (call === undefined) close(CLOSE.malformed, 'unreadable message')
    else if (callsUnderWay >= env.limits.callsAtOnce) close(CLOSE.busy, 'too many calls at once')
    else void answer(call)
  })
  socket.on('close', settle)
  // The library closes the socket itself after an error such as a message over the limit.
  socket.on('error', settle)
}

function readCall(data: Buffer): CallEnvelope | undefined {
  try {
    const envelope = decodeEnvelope(data)
    return isCall(envelope) ? envelope : undefined
  } catch {
    return undefined
  }
}

function sendingProblem(error: unknown, report: (error: unknown) => void): Problem {
  if (error instanceof ProblemError) return error.problem
  report(error)
  return { code: 'api.unexpected', message: 'The answer could not be sent.' }
}
