import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { FREE, type PortState } from '../../main/serial/access.ts'
import { identityOf } from '../../main/serial/identity.ts'
import { latencyOf } from '../../main/serial/latency.ts'
import { Ports, type PortsMachine } from '../../main/serial/list.ts'
import { PortsFile } from '../../main/serial/ports-file.ts'
import type { SystemPort, UsbFacts } from '../../main/serial/system-ports.ts'
import { portSchema } from '../../shared/api/ports.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { testFolder } from '../support/folder.ts'
import { needs, titled } from '../support/needs.ts'
import { ptyPair } from '../support/pty.ts'
import { freePort, lendPort } from '../support/ser2net.ts'

let folder: ReturnType<typeof testFolder>
let plugged: SystemPort[]
const machine: PortsMachine = {
  systemPorts: async () => plugged,
  accessTo: async () => FREE,
  latencyOf,
}
const ports = () => new Ports(new PortsFile(folder.path), machine)
const ftdi = (serialNumber: string | undefined, socket: string, more: Partial<UsbFacts> = {}): UsbFacts => ({
  ...{ vendorId: '0403', productId: '6001', serialNumber, socket },
  ...more,
})
const codeOf = (doing: Promise<unknown>) =>
  doing.then(
    () => 'done',
    error => (error instanceof ProblemError ? error.problem.code : String(error)),
  )

beforeEach(() => {
  folder = testFolder('ports')
  plugged = []
})
afterEach(() => folder.remove())

describe('the list of ports', () => {
  it('says what each is, in order, as the contract has it', async () => {
    plugged = [
      { path: '/dev/ttyS0', usb: undefined },
      { path: '/dev/ttyUSB10', usb: ftdi('B', '1-2') },
      { path: '/dev/ttyUSB2', usb: { vendorId: 'dead', productId: 'beef', product: 'Gizmo', socket: '1-3' } },
    ]
    await ports().add('bench.local:4000')
    const { ports: list } = await ports().list()
    for (const port of list) expect(portSchema.parse(port)).toEqual(port)
    expect(list.map(p => [p.place, p.kind, p.what])).toEqual([
      ['/dev/ttyUSB2', 'adapter', 'unknown adapter, calls itself "Gizmo"'],
      ['/dev/ttyUSB10', 'adapter', 'Future Technology Devices FT232'],
      ['bench.local:4000', 'server', 'serial server (RFC 2217)'],
      ['/dev/ttyS0', 'board', 'port on the board of this computer'],
    ])
  })

  it('keeps a name with the adapter, wherever it is plugged in', async () => {
    plugged = [{ path: '/dev/ttyUSB0', usb: ftdi('A', '1-1') }]
    await ports().name('/dev/ttyUSB0', '  Left adapter ')
    plugged = [
      { path: '/dev/ttyUSB0', usb: ftdi('B', '1-1') },
      { path: '/dev/ttyUSB3', usb: ftdi('A', '2-4') },
    ]
    const { ports: list } = await ports().list()
    expect(list.map(p => [p.place, p.name])).toEqual([
      ['/dev/ttyUSB0', undefined],
      ['/dev/ttyUSB3', 'Left adapter'],
    ])
    expect(await ports().find('Left adapter')).toMatchObject({ place: '/dev/ttyUSB3' })
    await ports().name('/dev/ttyUSB3', '')
    expect(await ports().find('Left adapter')).toBeUndefined()
  })

  it('never gives one name to two adapters that were made with the same serial number', async () => {
    plugged = [
      { path: '/dev/ttyUSB0', usb: ftdi('0001', '1-1') },
      { path: '/dev/ttyUSB1', usb: ftdi('0001', '1-2') },
    ]
    await ports().name('/dev/ttyUSB1', 'Right')
    const { ports: list } = await ports().list()
    expect(list.map(p => p.name)).toEqual([undefined, 'Right'])
    expect(list[1].nameStays).toContain('USB socket')
  })

  it('keeps what was typed in, and takes it off again, but nothing that the system has', async () => {
    plugged = [{ path: '/dev/ttyS0', usb: undefined }]
    await ports().add('/tmp/pty-a')
    await ports().add('/tmp/pty-a')
    const { ports: list } = await ports().list()
    expect(list.map(p => [p.place, p.isTyped])).toEqual([
      ['/tmp/pty-a', true],
      ['/dev/ttyS0', false],
    ])
    expect((await ports().remove('/tmp/pty-a')).ports).toHaveLength(1)
    expect(await codeOf(ports().remove('/dev/ttyS0'))).toBe('port.not-typed')
    expect(await codeOf(ports().add('no such thing'))).toBe('port.place')
    expect(await codeOf(ports().name('/dev/ttyUSB9', 'x'))).toBe('port.unknown')
  })

  it('does not let two ports have one name', async () => {
    plugged = [
      { path: '/dev/ttyUSB0', usb: ftdi('A', '1-1') },
      { path: '/dev/ttyUSB1', usb: ftdi('B', '1-2') },
    ]
    await ports().name('/dev/ttyUSB0', 'Left')
    expect(await codeOf(ports().name('/dev/ttyUSB1', 'Left'))).toBe('port.name-taken')
    await ports().name('/dev/ttyUSB0', 'Left')
  })

  it('says when what was kept cannot be read, and keeps it aside at the next change', async () => {
    const file = join(folder.path, 'ports.json')
    writeFileSync(file, '{"version":1,"names":"rubbish"}')
    const { ports: list, problem } = await ports().list()
    expect(list).toEqual([])
    expect(problem).toMatchObject({ code: 'ports.damaged', file })
    await ports().add('/tmp/pty-a')
    expect(readdirSync(folder.path).sort()).toEqual(['ports.json', 'ports.json.damaged'])
    expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual({ version: 1, names: [], typed: ['/tmp/pty-a'] })
  })

  it('hands on every state with its words', async () => {
    plugged = [{ path: '/dev/ttyUSB0', usb: ftdi('A', '1-1') }]
    for (const state of [
      'free',
      'in-use',
      'no-permission',
      'absent',
      'not-known',
    ] as const satisfies PortState[]) {
      const accessTo = async () => ({ state, text: `is ${state}`, remedy: 'do this' })
      const { ports: list } = await new Ports(new PortsFile(folder.path), { ...machine, accessTo }).list()
      expect(list[0]).toMatchObject({ state, stateText: `is ${state}`, remedy: 'do this' })
    }
  })
})

describe.skipIf(needs('socat') === undefined)(titled('a port of the list', 'socat'), () => {
  it('is opened by its name, is told as in use by this workbench, and is free after the close', async () => {
    const pair = await ptyPair()
    try {
      const list = ports()
      await list.add(pair.a)
      await list.name(pair.a, 'Left')
      const port = await list.open('Left', { baud: 9600, parity: 'none', stopBits: 1 })
      expect(port.label).toBe('Left')
      expect(await list.find('Left')).toMatchObject({
        state: 'in-use',
        stateText: 'in use by this workbench',
      })
      await port.close()
      expect(await list.find('Left')).toMatchObject({ state: 'free' })
      const unlisted = await list.open(pair.b, { baud: 9600, parity: 'none', stopBits: 1 })
      expect(unlisted.label).toBe(pair.b)
      await unlisted.close()
      expect(await codeOf(list.open('Right', { baud: 9600, parity: 'none', stopBits: 1 }))).toBe('port.place')
    } finally {
      await pair.end()
    }
  })
})

describe('a serial server in the list', () => {
  const LINE = { baud: 9600, parity: 'none', stopBits: 1 } as const
  const UNTRIED = { state: 'not-known', stateText: 'found out when it is opened', remedy: undefined }
  const AWAY = { state: 'not-known', stateText: 'was not there last time' }
  const told = async (place: string) => {
    const { state, stateText, remedy } = (await ports().find(place)) ?? expect.fail('it is not in the list')
    return { state, stateText, remedy }
  }

  it('is told to have been away once nobody answered there, with what to do, and may still be chosen', async () => {
    const [away, other] = [await freePort(), await freePort()].map(port => `127.0.0.1:${port}`)
    for (const place of [away, other]) await ports().add(place)
    expect(await told(away)).toEqual(UNTRIED)
    expect(await codeOf(ports().open(away, LINE))).toBe('port.server-not-there')
    expect(await told(away)).toMatchObject({ ...AWAY, remedy: expect.stringMatching(/switched on/) })
    expect(await told(other)).toEqual(UNTRIED)
  })

  it.skipIf(needs('ser2net') === undefined || needs('socat') === undefined)(
    titled('is told so until it is opened, and again when it goes away', 'ser2net', 'socat'),
    async () => {
      const pair = await ptyPair()
      const port = await freePort()
      const place = `127.0.0.1:${port}`
      await ports().add(place)
      expect(await codeOf(ports().open(place, LINE))).toBe('port.server-not-there')
      const lent = await lendPort(pair.a, port)
      try {
        // It takes a moment until it listens.
        const opened = await retried(() => ports().open(place, LINE))
        expect(await told(place)).toMatchObject({ state: 'in-use' })
        await opened.close()
        expect(await told(place)).toEqual(UNTRIED)
        const again = await retried(() => ports().open(place, LINE))
        const lost = new Promise(resolve => again.onLost(resolve))
        lent.end()
        await lost
        expect(await told(place)).toMatchObject(AWAY)
        await again.close()
      } finally {
        lent.end()
        await pair.end()
      }
    },
    30_000,
  )
})

/** As often as a server of this machine may need to begin or to let go of its port. */
async function retried<T>(doing: () => Promise<T>): Promise<T> {
  for (let tries = 0; ; tries++)
    try {
      return await doing()
    } catch (error) {
      if (tries >= 100) throw error
      await new Promise(resolve => setTimeout(resolve, 100))
    }
}

describe('what a name stays with', () => {
  const place = { kind: 'local', path: '/dev/ttyUSB0' } as const
  it('is one of several ports of an adapter', () => {
    const [first, second] = ['00', '01'].map(i => ftdi('A', '1-1', { interfaceNumber: i }))
    const all = [first, second]
    expect(identityOf(place, first, all).key).not.toBe(identityOf(place, second, all).key)
    expect(identityOf(place, first, all).sticksTo).toBe('adapter')
  })
  it('is the socket without a serial number, the port without USB, the address of a server', () => {
    expect(identityOf(place, ftdi(undefined, '1-1'), []).sticksTo).toBe('socket')
    expect(identityOf(place, undefined, [])).toEqual({ key: 'path:/dev/ttyUSB0', sticksTo: 'path' })
    expect(identityOf({ kind: 'rfc2217', host: 'h', port: 1 }, undefined, []).sticksTo).toBe('address')
  })
})

describe('the latency of an adapter', () => {
  // FTDI AN232B-04 (2006), "Small amounts of data": the timer's default is 16 ms.
  it('is the maker’s default for FTDI chips, and the same is allowed for where nothing is known', async () => {
    expect(await latencyOf('/dev/no-such-port', '0403')).toMatchObject({ ms: 16, from: /AN232B-04/ })
    expect(await latencyOf('/dev/no-such-port', '1a86')).toMatchObject({ ms: 16, from: /not known/ })
    expect(await latencyOf('/dev/ttyS0')).toMatchObject({ ms: 1 })
  })

  it.skipIf(process.platform !== 'linux')('is what the driver says, where it says it', async () => {
    const device = join(folder.path, 'class/tty/ttyUSB7/device')
    mkdirSync(device, { recursive: true })
    writeFileSync(join(device, 'latency_timer'), '1\n')
    expect(await latencyOf('/dev/ttyUSB7', '0403', folder.path)).toEqual({
      ms: 1,
      from: 'read from the driver',
    })
    writeFileSync(join(device, 'latency_timer'), 'rubbish')
    expect(await latencyOf('/dev/ttyUSB7', '0403', folder.path)).toMatchObject({ ms: 16 })
  })
})
