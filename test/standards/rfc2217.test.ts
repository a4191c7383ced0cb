import { createServer } from 'node:net'
import { afterEach, describe, expect, it } from 'vitest'
import { openPort } from '../../main/serial/open-port.ts'
import type { OpenPort } from '../../main/serial/port.ts'
import { openServerPort } from '../../main/serial/rfc2217-port.ts'
import { runOnPort } from '../../main/serial/runner.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { type BootRomPlan, bootRomTiming, writeThroughBootRom } from '../../shared/procedure/boot-rom.ts'
import { blankMemory } from '../../shared/sim/memory.ts'
import {
  baudOctets,
  COM_PORT,
  CONTROL_VALUE,
  commandOctets,
  FROM_SERVER,
  PARITY_VALUE,
  PURGE_VALUE,
  readServer,
  STOP_SIZE_VALUE,
} from '../../shared/wire/com-port-option.ts'
import { askingOctets, escapeData, IAC, OPTION, parametersOctets, VERB } from '../../shared/wire/telnet.ts'
import { chipOnTable, hexOf, octetsOf, stType } from '../support/boot-rom-rig.ts'
import { needs, titled } from '../support/needs.ts'
import { peerAt } from '../support/peers.ts'
import { ptyPair } from '../support/pty.ts'
import { freePort, lendPort } from '../support/ser2net.ts'

describe('telnet, RFC 854 and RFC 855', () => {
  it('has the command codes of RFC 854, "TELNET COMMAND STRUCTURE"', () => {
    expect(IAC).toBe(255)
    expect(VERB).toEqual({ se: 240, nop: 241, sb: 250, will: 251, wont: 252, do: 253, dont: 254 })
  })
  it('has the option codes of RFC 856, 857, 858 and 2217', () => {
    expect(OPTION).toEqual({ binary: 0, echo: 1, noGoAhead: 3, comPort: 44 })
  })
  it('doubles IAC in data (RFC 854) and in parameters (RFC 855)', () => {
    expect([...escapeData(Uint8Array.of(1, 255, 2))]).toEqual([1, 255, 255, 2])
    expect([...parametersOctets(44, Uint8Array.of(255))]).toEqual([255, 250, 44, 255, 255, 255, 240])
    expect([...askingOctets('will', 44)]).toEqual([255, 251, 44])
  })
})

describe('the control of a port, RFC 2217', () => {
  it('has the commands of sections 2 and 3; the server says the same with 100 more', () => {
    expect(COM_PORT).toEqual({
      ...{ signature: 0, setBaudRate: 1, setDataSize: 2, setParity: 3, setStopSize: 4, setControl: 5 },
      ...{ notifyLineState: 6, notifyModemState: 7, flowControlSuspend: 8, flowControlResume: 9 },
      ...{ setLineStateMask: 10, setModemStateMask: 11, purgeData: 12 },
    })
    expect(FROM_SERVER).toBe(100)
  })
  it('has the values of parity, stop size, control and purge', () => {
    expect(PARITY_VALUE).toEqual({ none: 1, odd: 2, even: 3 })
    expect(STOP_SIZE_VALUE).toEqual({ 1: 1, 2: 2 })
    expect(CONTROL_VALUE).toEqual({
      ...{ noFlowControl: 1, breakOn: 5, breakOff: 6, dtrOn: 8, dtrOff: 9, rtsOn: 11, rtsOff: 12 },
    })
    expect(PURGE_VALUE).toEqual({ received: 1, toBeSent: 2, both: 3 })
  })
  it('says a rate as four octets, most significant first', () => {
    expect([...baudOctets(115_200)]).toEqual([255, 250, 44, 1, 0, 1, 0xc2, 0, 255, 240])
    expect([...commandOctets(COM_PORT.setParity, PARITY_VALUE.even)]).toEqual([255, 250, 44, 3, 3, 255, 240])
  })
  it('has the modem lines where section 4 puts them', () => {
    const lines = (value: number) => readServer(Uint8Array.of(107, value))
    const none = { carrierDetect: false, ring: false, dataSetReady: false, clearToSend: false }
    expect(lines(0x0f)).toEqual({ says: 'modem-state', state: none })
    for (const [bit, name] of [
      [128, 'carrierDetect'],
      [64, 'ring'],
      [32, 'dataSetReady'],
      [16, 'clearToSend'],
    ] as const)
      expect(lines(bit)).toEqual({ says: 'modem-state', state: { ...none, [name]: true } })
  })
})

const PLAIN = { baud: 115_200, parity: 'none', stopBits: 1 } as const

const suite = titled('against ser2net', 'ser2net', 'socat')
describe.skipIf(needs('ser2net') === undefined || needs('socat') === undefined)(suite, () => {
  const ends: (() => unknown)[] = []
  afterEach(async () => {
    for (const end of ends.splice(0).reverse()) await end()
  })

  /** ser2net lends one end of a pair of ports; the other end is the device. */
  async function lent(answer: (octets: Uint8Array) => Uint8Array | undefined) {
    const pair = await ptyPair()
    ends.push(() => pair.end())
    const { port, server, end } = await lendPort(pair.a)
    ends.push(end)
    const device = await peerAt(pair.b, answer)
    ends.push(() => device.close())
    return { port, server, device }
  }
  /** ser2net takes a moment until it listens. */
  async function opened(port: number): Promise<OpenPort> {
    for (let tries = 0; ; tries++)
      try {
        const made = await openPort({ kind: 'rfc2217', host: '127.0.0.1', port }, PLAIN)
        ends.push(() => made.close())
        return made
      } catch (error) {
        if (tries >= 50 || !(error instanceof ProblemError)) throw error
        if (error.problem.code !== 'port.server-not-there') throw error
        await new Promise(resolve => setTimeout(resolve, 100))
      }
  }
  function ear(port: OpenPort, count: number): Promise<number[]> {
    const got: number[] = []
    return new Promise(resolve => {
      port.onOctets(octets => {
        got.push(...octets)
        if (got.length >= count) resolve(got)
      })
    })
  }

  it('carries every octet there and back', async () => {
    const { port } = await lent(octets => octets)
    const here = await opened(port)
    const all = Uint8Array.from({ length: 1024 }, (_, i) => (i < 512 ? i : 255 - (i >> 2)) & 0xff)
    const back = ear(here, all.length)
    await here.write(all)
    expect(await back).toEqual([...all])
    expect(here.latencyMs).toBeGreaterThan(0)
    const none = { carrierDetect: false, ring: false, dataSetReady: false, clearToSend: false }
    expect(here).toHaveProperty('modemState', none)
  })

  it('sets rate, parity and stop bits, and is told what is in force', async () => {
    const { port } = await lent(octets => octets)
    const here = await opened(port)
    for (const settings of [
      { baud: 57_600, parity: 'even', stopBits: 1 },
      { baud: 420_000, parity: 'odd', stopBits: 2 },
      PLAIN,
    ] as const) {
      await here.set(settings)
      expect(here.settings).toEqual(settings)
    }
    const back = ear(here, 3)
    await here.write(Uint8Array.of(0xff, 0, 0x0d))
    expect(await back).toEqual([0xff, 0, 0x0d])
  })

  it('says that a pair of pseudo-terminals has no control lines, and can hold a break', async () => {
    const { port } = await lent(() => undefined)
    const here = await opened(port)
    expect(await here.lines({ dtr: true, rts: false })).toBe('not-available')
    expect(await here.lines({ break: true })).toBe('done')
    await here.flushInput()
  })

  it('carries a whole procedure: the loader of a chip is written through, with even parity', async () => {
    const memory = blankMemory(stType())
    const { say } = chipOnTable({ memory })
    const { port } = await lent(octets => {
      const said = say(octets)
      return said === '' ? undefined : octetsOf(said)
    })
    const here = await opened(port)
    const data = Uint8Array.from({ length: 1000 }, (_, i) => (i * 31 + 0xf0) & 0xff)
    const plan: BootRomPlan = {
      ...{ baud: 57_600, address: 0x0800_0000, octets: data, pages: [0, 1], startAt: undefined },
      ...{ chipId: undefined, writeMultiple: 4, connectTries: 3, tries: 3, attempts: 1 },
      timing: bootRomTiming(57_600, stType().flash, here.latencyMs),
    }
    const end = await runOnPort(writeThroughBootRom(plan), {
      ...{ port: here, echo: false, nowMs: () => performance.now(), signal: AbortSignal.timeout(15_000) },
      store: () => ({ got: 'failed', why: 'absent' }),
      onEvent: () => {},
    })
    expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done', retries: 0 } })
    expect(hexOf(memory.boot.octets.subarray(0, 1000))).toBe(hexOf(data))
    expect(here.settings).toEqual({ baud: 57_600, parity: 'even', stopBits: 1 })
  })

  it('tells that the server has gone', async () => {
    const { port, server } = await lent(() => undefined)
    const here = await opened(port)
    const lost = new Promise<string>(resolve => here.onLost(resolve))
    server.kill()
    expect(await lost).toContain('ended the connection')
    await expect(here.write(Uint8Array.of(1))).rejects.toThrow('ended the connection')
  })
})

describe('a server that is none', () => {
  const ends: (() => unknown)[] = []
  afterEach(() => {
    for (const end of ends.splice(0).reverse()) end()
  })
  /** Says these octets to whoever comes. */
  async function says(octets: Uint8Array): Promise<number> {
    const server = createServer(socket => {
      socket.on('error', () => {})
      socket.write(octets)
      ends.push(() => socket.destroy())
    })
    ends.push(() => server.close())
    await new Promise<void>(resolve => server.listen(0, '127.0.0.1', resolve))
    const address = server.address()
    return typeof address === 'object' && address ? address.port : 0
  }
  const codeOf = (opening: Promise<unknown>) =>
    opening.then(
      () => 'opened',
      error => (error instanceof ProblemError ? error.problem.code : String(error)),
    )

  it.each([
    ['silent', new Uint8Array(0)],
    ['a web server', new TextEncoder().encode('HTTP/1.1 400 Bad Request\r\n\r\n')],
    ['one that refuses', Uint8Array.of(255, 254, 44, 255, 254, 0)],
    ['noise', Uint8Array.from({ length: 20_000 }, (_, i) => (i * i * 31 + (i >> 3)) & 0xff)],
    [
      'one that asks without end',
      Uint8Array.from({ length: 30_000 }, (_, i) => [255, 253, (i / 3) & 0x7f][i % 3]),
    ],
  ])('is told as such: %s', async (_name, octets) => {
    const port = await says(octets)
    const code = await codeOf(openServerPort({ host: '127.0.0.1', port }, PLAIN))
    expect(['port.server-other', 'port.settings']).toContain(code)
  })

  it('is told as not there where nobody listens', async () => {
    const port = await freePort()
    expect(await codeOf(openServerPort({ host: '127.0.0.1', port }, PLAIN))).toBe('port.server-not-there')
  })
})
