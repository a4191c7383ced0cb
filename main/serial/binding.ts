import { stat } from 'node:fs/promises'
import { ProblemError } from '../../shared/model/problem.ts'
import { bounded } from './bounded.ts'
import { notAPort, whyNotOpen } from './open-problems.ts'
import { type LineSettings, PortLostError } from './port.ts'
import type { UnixPort } from './unix-octets.ts'

/** The native binding of a port of this computer: opening it, and listening where it reads in a thread of its own. */

/** What the bindings of all systems have in common. */
export interface Binding {
  readonly isOpen: boolean
  read(into: Buffer, offset: number, length: number): Promise<{ bytesRead: number }>
  write(octets: Buffer): Promise<void>
  set(lines: { brk: boolean; dtr: boolean; rts: boolean; lowLatency?: boolean }): Promise<void>
  update(options: { baudRate: number }): Promise<void>
  flush(): Promise<void>
  close(): Promise<void>
}

const OPEN_MS = 5000
const READ_OCTETS = 16_384
export const CLOSED = 'The port is closed.'

/** @throws ProblemError as `openLocalPort` does */
export async function openBinding(path: string, settings: LineSettings): Promise<Binding> {
  const about = path.startsWith('/') ? await stat(path).catch(() => undefined) : undefined
  if (about !== undefined && !about.isCharacterDevice()) throw new ProblemError(notAPort(path))
  const { baud: baudRate, parity, stopBits } = settings
  try {
    const { autoDetect } = await import('@serialport/bindings-cpp')
    // A port is closed and opened again to change its parity; the control lines must not drop meanwhile.
    const opening = autoDetect().open({ path, baudRate, parity, stopBits, dataBits: 8, hupcl: false })
    const putAway = (late: Binding) => void late.close().catch(() => {})
    return await bounded<Binding>(opening, OPEN_MS, 'open', putAway)
  } catch (error) {
    throw new ProblemError(whyNotOpen(path, settings, error))
  }
}

/** It can be read and written without a thread. */
export const isUnix = (port: object): port is UnixPort => 'poller' in port && 'fd' in port

export interface Listener {
  heard(octets: Uint8Array): void
  lost(why: string): void
  /** Nobody wants to hear of it any more. */
  isOver(): boolean
}

/** Listens until it is over or the port has gone; never rejects. */
export async function listenByThread(binding: Binding, to: Listener): Promise<void> {
  const into = Buffer.alloc(READ_OCTETS)
  try {
    for (;;) {
      const { bytesRead } = await binding.read(into, 0, into.length)
      if (to.isOver()) return
      if (bytesRead < 1) throw new PortLostError(CLOSED)
      to.heard(new Uint8Array(into.subarray(0, bytesRead)))
    }
  } catch (error) {
    if (to.isOver()) return
    to.lost(error instanceof PortLostError ? error.message : `The port has gone (${String(error)}).`)
  }
}
