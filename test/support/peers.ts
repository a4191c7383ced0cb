import { openLocalPort } from '../../main/serial/local-port.ts'
import type { LineSettings, OpenPort } from '../../main/serial/port.ts'

/** A simulated device, or a script, at the other end of a pair of ports: it is told what comes, and may answer. */
export async function peerAt(
  path: string,
  answer: (octets: Uint8Array) => Uint8Array | undefined,
  settings: LineSettings = { baud: 115_200, parity: 'none', stopBits: 1 },
): Promise<OpenPort> {
  const port = await openLocalPort(path, settings)
  port.onOctets(octets => {
    const said = answer(octets)
    if (said !== undefined && said.length > 0) void port.write(said).catch(() => {})
  })
  return port
}

/** A port without a line: what is written is handed to `device`, and what that says is heard. */
export function portTo(device: (octets: Uint8Array, say: (answer: Uint8Array) => void) => void) {
  const hearing = new Set<(octets: Uint8Array) => void>()
  const losing = new Set<(why: string) => void>()
  const calls: string[] = []
  let settings: LineSettings = { baud: 115_200, parity: 'none', stopBits: 1 }
  const say = (octets: Uint8Array) => {
    for (const hear of [...hearing]) hear(octets)
  }
  const port: OpenPort = {
    label: 'test port',
    latencyMs: 0,
    get settings() {
      return settings
    },
    write: async octets => {
      calls.push(`write ${Buffer.from(octets).toString('hex')}`)
      queueMicrotask(() => device(octets, say))
    },
    onOctets: hear => {
      hearing.add(hear)
      return () => hearing.delete(hear)
    },
    onLost: hear => {
      losing.add(hear)
      return () => losing.delete(hear)
    },
    set: async to => {
      calls.push(`set ${JSON.stringify(to)}`)
      settings = to
    },
    lines: async to => {
      calls.push(`lines ${JSON.stringify(to)}`)
      return 'not-available'
    },
    flushInput: async () => {
      calls.push('flush')
    },
    close: async () => {},
  }
  const lose = (why: string) => {
    for (const hear of [...losing]) hear(why)
  }
  return { port, say, lose, calls, listeners: () => hearing.size + losing.size }
}
