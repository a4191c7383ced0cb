import { WebSocket } from 'ws'
import { type SocketLike, socketChannel } from '../../renderer/api/socket-channel.ts'
import { makeClient } from '../../shared/api/client.ts'
import { contract } from '../../shared/api/contract.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { startTestHost } from '../support/host.ts'
import type { Measured } from './table.ts'

const STARTS = 5
const LATER = 9
/** How long somebody looks at the first screen before the first rehearsal is asked for, at the least; own estimate. */
const LOOK_MS = 5000

const route = 'cable' as const
const image = { kind: 'bench', imageId: 'wren-6-2.4.0' } as const
const request = {
  ...{ bench: demoBench(), receiverId: 'wren-trainer', image },
  ...{ route, seed: 1, faults: [], dropOutside: false },
} as const

/**
 * What somebody at the window waits for, from asking for a rehearsal until all of it has come over the socket and been
 * checked: the first after a start of the built host, and later ones. The median of some.
 */
export async function benchFirstRehearsal(): Promise<Measured[]> {
  const runs: { first: number; later: number[] }[] = []
  for (let i = 0; i < STARTS; i++) runs.push(await oneStart())
  const row = (what: string, all: readonly number[]): Measured => {
    const median = [...all].sort((a, b) => a - b)[Math.floor(all.length / 2)]
    const value = `${median.toFixed(0)} ms`
    return { what, value, goal: 'under 150 ms', reached: median < 150 }
  }
  const from = 'a 256 KiB rehearsal from the window'
  return [
    row(
      `${from}, first, ${LOOK_MS / 1000} s after the first screen, median of ${STARTS}`,
      runs.map(r => r.first),
    ),
    row(
      `${from}, later, median of ${STARTS * LATER}`,
      runs.flatMap(r => r.later),
    ),
  ]
}

async function oneStart() {
  const host = await startTestHost()
  const address = new URL(host.url)
  const sockets: WebSocket[] = []
  const channel = socketChannel({
    open: () => {
      const protocols = ['preflash', `preflash.token.${address.hash.replace('#token=', '')}`]
      const socket = new WebSocket(`ws://${address.host}/socket`, protocols, { origin: address.origin })
      sockets.push(socket)
      return socket as unknown as SocketLike
    },
    wait: () => {},
  })
  const client = makeClient(contract, channel)
  const once = async () => {
    const asked = performance.now()
    const { report } = await client.call('rehearse.run', request)
    if (report.outcome !== 'updated') throw new Error('the benchmark session did not succeed')
    return performance.now() - asked
  }
  try {
    // What a window asks for its first screen, more or less.
    await client.call('settings.get', {})
    await client.call('draft.get', {})
    await new Promise(resolve => setTimeout(resolve, LOOK_MS))
    const first = await once()
    const later: number[] = []
    for (let i = 0; i < LATER; i++) later.push(await once())
    return { first, later }
  } finally {
    for (const socket of sockets) socket.terminate()
    await host.stop()
  }
}
