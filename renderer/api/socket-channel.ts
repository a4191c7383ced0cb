import type { Channel } from '../../shared/api/client.ts'
import type { ReplyEnvelope } from '../../shared/api/envelope.ts'
import { decodeEnvelope, encodeEnvelope, isEvent, isReply } from '../../shared/api/envelope.ts'
import type { Problem } from '../../shared/model/problem.ts'
import { ProblemError } from '../../shared/model/problem.ts'

/** The part of the browser's WebSocket that the channel uses. */
export interface SocketLike {
  binaryType: string
  onopen: (() => void) | null
  onmessage: ((message: { data: unknown }) => void) | null
  onclose: ((closing: { code: number }) => void) | null
  send(data: Uint8Array<ArrayBuffer>): void
  close(): void
}

/** `refused` is final: the token is wrong. `lost` mends itself as soon as the host is back. */
export type ChannelStatus = 'connecting' | 'live' | 'lost' | 'refused'

export interface SocketChannelOptions {
  readonly open: () => SocketLike
  readonly wait: (delayMs: number, then: () => void) => void
  readonly onStatus?: (status: ChannelStatus) => void
}

interface Pending {
  readonly resolve: (outcome: unknown) => void
  readonly reject: (error: ProblemError) => void
}

const WRONG_TOKEN = 4401
const FIRST_DELAY_MS = 250
const LONGEST_DELAY_MS = 4_000
const MAX_QUEUED = 100

const LOST: Problem = {
  code: 'api.lost',
  message: 'The connection to Preflash was lost, so it is not known whether this was done.',
  remedy: 'Look whether Preflash still runs in its terminal window; this page reconnects by itself.',
}
const REFUSED: Problem = {
  code: 'api.token',
  message: 'This page was opened without the key that Preflash printed when it started.',
  remedy: 'Open the whole address that Preflash printed, up to its last letter.',
}

/** A channel over the host's WebSocket. Calls made while it is connecting wait; those under way when it breaks fail. */
export function socketChannel(options: SocketChannelOptions): Channel {
  return new SocketChannel(options)
}

class SocketChannel implements Channel {
  private readonly options: SocketChannelOptions
  private readonly pending = new Map<number, Pending>()
  private readonly listeners = new Set<(event: string, data: unknown) => void>()
  private queued: Uint8Array<ArrayBuffer>[] = []
  private socket: SocketLike | undefined
  private status: ChannelStatus = 'connecting'
  private delayMs = FIRST_DELAY_MS
  private nextId = 0

  constructor(options: SocketChannelOptions) {
    this.options = options
    this.connect()
  }

  call(method: string, request: unknown): Promise<unknown> {
    if (this.status === 'refused') return Promise.reject(new ProblemError(REFUSED))
    return new Promise((resolve, reject) => {
      const id = this.nextId++
      const message = encodeEnvelope({ id, method, request })
      if (this.status === 'live') this.socket?.send(message)
      else if (this.queued.length < MAX_QUEUED) this.queued.push(message)
      else return reject(new ProblemError(LOST))
      this.pending.set(id, { resolve, reject })
    })
  }

  listen(listener: (event: string, data: unknown) => void): () => void {
    this.listeners.add(listener)
    return () => this.listeners.delete(listener)
  }

  private connect(): void {
    this.enter('connecting')
    const socket = this.options.open()
    socket.binaryType = 'arraybuffer'
    socket.onopen = () => this.opened(socket)
    socket.onmessage = ({ data }) => this.receive(socket, data)
    socket.onclose = ({ code }) => this.closed(code)
  }

  private opened(socket: SocketLike): void {
    this.socket = socket
    this.delayMs = FIRST_DELAY_MS
    this.enter('live')
    for (const message of this.queued) socket.send(message)
    this.queued = []
  }

  private receive(socket: SocketLike, data: unknown): void {
    try {
      const envelope = decodeEnvelope(new Uint8Array(data as ArrayBuffer))
      if (isReply(envelope)) this.settle(envelope)
      else if (isEvent(envelope))
        for (const listener of [...this.listeners]) listener(envelope.event, envelope.data)
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error
      // Only a host of another version speaks what this page cannot read.
      socket.close()
    }
  }

  private settle({ id, ...outcome }: ReplyEnvelope): void {
    this.pending.get(id)?.resolve(outcome)
    this.pending.delete(id)
  }

  private closed(code: number): void {
    const refused = code === WRONG_TOKEN
    this.socket = undefined
    this.queued = []
    for (const { reject } of this.pending.values()) reject(new ProblemError(refused ? REFUSED : LOST))
    this.pending.clear()
    this.enter(refused ? 'refused' : 'lost')
    if (refused) return
    this.options.wait(this.delayMs, () => this.connect())
    this.delayMs = Math.min(this.delayMs * 2, LONGEST_DELAY_MS)
  }

  private enter(status: ChannelStatus): void {
    this.status = status
    this.options.onStatus?.(status)
  }
}
