import { createServer, type Socket } from 'node:net'
import fc from 'fast-check'
import { afterEach, describe, expect, it } from 'vitest'
import { PortLostError } from '../../main/serial/port.ts'
import { openServerPort } from '../../main/serial/rfc2217-port.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { COM_PORT, FROM_SERVER } from '../../shared/wire/com-port-option.ts'
import {
  IAC,
  MOST_PARAMETERS,
  OPTION,
  parametersOctets,
  TelnetDecoder,
  VERB,
} from '../../shared/wire/telnet.ts'

/** Serial servers (RFC 2217) that do what none should: nothing hangs, nothing is kept without bound, ends are typed. */

const PLAIN = { baud: 115_200, parity: 'none', stopBits: 1 } as const
const SEED = 2217

const agreeing = Uint8Array.of(
  ...[IAC, VERB.do, OPTION.comPort, IAC, VERB.do, OPTION.binary],
  ...[IAC, VERB.will, OPTION.binary],
)

describe('what a server says, taken apart', () => {
  const decode = (pieces: readonly Uint8Array[]) => {
    const data: number[] = []
    const told: string[] = []
    let longest = 0
    const decoder = new TelnetDecoder({
      data: octets => data.push(...octets),
      asking: (verb, option) => told.push(`${verb} ${option}`),
      parameters: (option, octets) => {
        longest = Math.max(longest, octets.length)
        told.push(`${option}: ${Buffer.from(octets).toString('hex')}`)
      },
    })
    for (const piece of pieces) decoder.push(piece)
    return { data, told, longest }
  }
  /** Mostly what means something in telnet. */
  const stream = fc.array(
    fc.oneof(fc.constantFrom(IAC, VERB.sb, VERB.se, VERB.will, VERB.do, OPTION.comPort, 101), fc.nat(255)),
    { maxLength: 400 },
  )

  it('is the same however it is cut, IAC at the edge of a piece included', () => {
    fc.assert(
      fc.property(stream, fc.infiniteStream(fc.integer({ min: 1, max: 9 })), (octets, cuts) => {
        const pieces: Uint8Array[] = []
        for (let at = 0; at < octets.length; ) {
          const next = at + cuts.next().value
          pieces.push(Uint8Array.from(octets.slice(at, next)))
          at = next
        }
        expect(decode(pieces)).toEqual(decode([Uint8Array.from(octets)]))
      }),
      { seed: SEED, numRuns: 500 },
    )
  })

  it('never keeps more of a subnegotiation than a bounded part, and finds the data behind it', () => {
    const huge = new Uint8Array(2_000_000).fill(7)
    const { data, longest } = decode([
      parametersOctets(OPTION.comPort, huge.slice(0, 3)),
      Uint8Array.of(IAC, VERB.sb, 44),
      huge,
      Uint8Array.of(IAC, VERB.se, 1, 2),
    ])
    expect(longest).toBe(MOST_PARAMETERS)
    expect(data).toEqual([1, 2])
  })

  it('waits for the end of one that is cut off, and takes nothing of it for data', () => {
    expect(decode([Uint8Array.of(IAC, VERB.sb, OPTION.comPort, 101, 0, 1)])).toEqual({
      data: [],
      told: [],
      longest: 0,
    })
  })
})

describe('a link to a server that does what none should', () => {
  const ends: (() => unknown)[] = []
  afterEach(() => {
    for (const end of ends.splice(0).reverse()) end()
  })

  async function serve(live: (socket: Socket) => void): Promise<number> {
    const server = createServer(socket => {
      socket.on('error', () => {})
      ends.push(() => socket.destroy())
      live(socket)
    })
    ends.push(() => server.close())
    await new Promise<void>(resolve => server.listen(0, '127.0.0.1', resolve))
    const address = server.address()
    return typeof address === 'object' && address ? address.port : 0
  }
  /** Agrees, and confirms what it is asked; `before` is called before each confirmation, and may do away with it. */
  const good = (before: (socket: Socket, count: number) => boolean = () => true) =>
    serve(socket => {
      socket.write(agreeing)
      let count = 0
      const decoder = new TelnetDecoder({
        data: () => {},
        asking: () => {},
        parameters: (option, octets) => {
          if (!before(socket, count++) || socket.destroyed || octets[0] === COM_PORT.setModemStateMask) return
          const said = octets.slice()
          said[0] += FROM_SERVER
          socket.write(parametersOctets(option, said))
        },
      })
      socket.on('data', octets => decoder.push(octets))
    })
  const open = (port: number) => openServerPort({ host: '127.0.0.1', port }, PLAIN)
  const endOf = (opening: Promise<unknown>) =>
    opening.then(
      () => 'opened',
      error => (error instanceof ProblemError ? error.problem.code : `untyped: ${String(error)}`),
    )

  it.each([0, 1, 2, 3, 4])('ends typed where the server goes before confirmation %d', async at => {
    const port = await good((socket, count) => {
      if (count === at) socket.destroy()
      return count < at
    })
    expect(await endOf(open(port))).toBe('port.server-ended')
  })

  it('ends typed where the server goes before anything is agreed', async () => {
    const port = await serve(socket => socket.end())
    expect(await endOf(open(port))).toBe('port.server-ended')
  })

  it('ends typed where nothing is ever confirmed', async () => {
    expect(await endOf(open(await good(() => false)))).toBe('port.settings')
  })

  it('ends typed whatever random octets come first', { timeout: 60_000 }, async () => {
    await fc.assert(
      fc.asyncProperty(fc.uint8Array({ minLength: 1, maxLength: 3000 }), async noise => {
        const port = await serve(socket => socket.end(noise))
        expect(['port.server-ended', 'port.server-other', 'port.settings']).toContain(await endOf(open(port)))
      }),
      { seed: SEED, numRuns: 20 },
    )
  })

  it('loses the port where the server holds us off for ever, or reads nothing any more', {
    timeout: 60_000,
  }, async () => {
    const port = await good((socket, count) => {
      if (count === 4)
        socket.write(
          parametersOctets(OPTION.comPort, Uint8Array.of(FROM_SERVER + COM_PORT.flowControlSuspend)),
        )
      return true
    })
    const here = await open(port)
    ends.push(() => here.close())
    await expect(here.write(Uint8Array.of(1, 2, 3))).rejects.toThrow(PortLostError)
    await expect(here.write(Uint8Array.of(4))).rejects.toThrow('takes nothing any more')
  })

  it('passes on what a server pours out, piece by piece, and closes in the middle of it', async () => {
    let sockets: Socket[] = []
    const port = await good(socket => {
      sockets = [socket]
      return true
    })
    const here = await open(port)
    let heard = 0
    let largest = 0
    const enough = new Promise<void>(resolve => {
      here.onOctets(octets => {
        heard += octets.length
        largest = Math.max(largest, octets.length)
        if (heard > 8_000_000) resolve()
      })
    })
    const piece = new Uint8Array(64 * 1024).fill(0x55)
    const pour = () => {
      while (!sockets[0].destroyed && sockets[0].write(piece));
    }
    sockets[0].on('drain', pour)
    pour()
    await enough
    // Nothing is gathered here: a piece is what the system hands over in one go.
    expect(largest).toBeLessThanOrEqual(64 * 1024)
    await here.close()
    const atClose = heard
    await new Promise(resolve => setImmediate(resolve))
    expect(heard).toBe(atClose)
  })
})
