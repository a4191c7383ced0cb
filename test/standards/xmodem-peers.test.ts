import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it, type TestContext } from 'vitest'
import { openLocalPort } from '../../main/serial/local-port.ts'
import { type PortRunOptions, type RunEnd, runOnPort } from '../../main/serial/runner.ts'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { writeByDialect } from '../../shared/dialect/interpret.ts'
import type { DialectPlan } from '../../shared/dialect/plan.ts'
import { type ReceivePlan, receiveByXmodem } from '../../shared/dialect/receive-xmodem.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import type { Procedure, SessionEvent } from '../../shared/procedure/effects.ts'
import { testFolder } from '../support/folder.ts'
import { needs, titled } from '../support/needs.ts'
import { programAtPty } from '../support/pty.ts'

/**
 * XMODEM and YMODEM both ways against the programs of Debian's lrzsz, over a pseudo-terminal, in the forms that were
 * found reliable: the peer sits on a socket pair, and what counts is the file that it received.
 */

/** Every value, and none that repeats with the block. */
const contentOf = (octets: number): Uint8Array =>
  Uint8Array.from({ length: octets }, (_, i) => (7 * i + 3 + (i >> 8) * 13) & 0xff)

const SUB = 0x1a
const BAUD = 115_200

const suite = titled('against lrzsz', 'lrzsz', 'socat')
// The peers spend most of their time in pauses of their own, so they may do so together.
describe.skipIf(needs('lrzsz') === undefined || needs('socat') === undefined).concurrent(suite, () => {
  async function table<R>(
    t: TestContext,
    command: string,
    folder: string,
    procedure: Procedure<R>,
    wrap = (port: PortRunOptions['port']) => port,
  ) {
    const peer = await programAtPty(command, folder)
    t.onTestFinished(() => peer.end())
    const port = await openLocalPort(peer.path, { baud: BAUD, parity: 'none', stopBits: 1 })
    t.onTestFinished(() => port.close())
    const events: SessionEvent[] = []
    const on: PortRunOptions = {
      ...{ port: wrap(port), echo: false, nowMs: () => performance.now() },
      signal: AbortSignal.timeout(30_000),
      store: () => ({ got: 'failed', why: 'absent' }),
      onEvent: event => events.push(event),
    }
    const end: RunEnd<R> = await runOnPort(procedure, on)
    await peer.ended
    return { end, events }
  }
  function folderOf(t: TestContext, files: Readonly<Record<string, Uint8Array>> = {}): string {
    const folder = testFolder('lrzsz')
    t.onTestFinished(() => folder.remove())
    for (const [name, octets] of Object.entries(files)) writeFileSync(join(folder.path, name), octets)
    return folder.path
  }

  const planOf = (name: string, octets: Uint8Array): DialectPlan => ({
    dialect: builtInDialects().get(name) as Dialect,
    baud: BAUD,
    image: { octets, address: 0, fileName: 'image.bin' },
    pages: [],
    expectBefore: {},
    expectAfter: {},
    inSeries: true,
  })

  it.for([
    ['xmodem-crc', 'rx -q -c out.bin', 300],
    ['xmodem-crc', 'rx -q -c out.bin', 40_000],
    ['xmodem-crc', 'rx -q out.bin', 3000],
    ['xmodem-1k', 'rx -q -c out.bin', 40_000],
    ['xmodem-1k', 'rx -q -c out.bin', 1024],
    ['xmodem-1k', 'rx -q out.bin', 3000],
  ] as const)('%s sends to "%s": %i octets', async ([name, command, octets], t) => {
    const folder = folderOf(t)
    const content = contentOf(octets)
    const { end } = await table(t, command, folder, writeByDialect(planOf(name, content)))
    expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done', attempts: 1, code: undefined } })
    const received = readFileSync(join(folder, 'out.bin'))
    expect(received.subarray(0, octets)).toEqual(Buffer.from(content))
    // XMODEM says no length: the last block is filled up.
    expect([...received.subarray(octets)].every(octet => octet === SUB)).toBe(true)
    expect(received.length - octets).toBeLessThan(1024)
  })

  it.for([1, 128, 3000, 40_000])(
    'ymodem sends to "rb": %i octets, with name and length',
    async (octets, t) => {
      const folder = folderOf(t)
      const content = contentOf(octets)
      const { end } = await table(t, 'rb -q', folder, writeByDialect(planOf('ymodem', content)))
      expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done', attempts: 1 } })
      expect(readFileSync(join(folder, 'image.bin'))).toEqual(Buffer.from(content))
    },
  )

  it('a receiver that finds errors is sent the block again', async t => {
    const folder = folderOf(t)
    const content = contentOf(20_000)
    const command = 'rx -q -c --errors 6000 out.bin'
    const { end, events } = await table(t, command, folder, writeByDialect(planOf('xmodem-crc', content)))
    expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done' } })
    expect(events.some(event => event.kind === 'retry')).toBe(true)
    expect(readFileSync(join(folder, 'out.bin')).subarray(0, 20_000)).toEqual(Buffer.from(content))
  })

  /** The block that is sent `nth` reaches the peer with an octet changed, or what it says has a C before it. */
  const damaging = (port: PortRunOptions['port'], nth: number, extra?: number): PortRunOptions['port'] => {
    let sends = 0
    return {
      ...{ label: port.label, latencyMs: port.latencyMs, settings: port.settings, onLost: port.onLost },
      set: settings => port.set(settings),
      lines: to => port.lines(to),
      flushInput: () => port.flushInput(),
      close: () => port.close(),
      write: octets => {
        const said = octets.slice()
        if (++sends === nth && extra === undefined) said[said.length - 10] ^= 0x55
        return port.write(said)
      },
      onOctets: hear =>
        port.onOctets(octets => {
          const isAnswer = sends === nth && extra !== undefined
          hear(isAnswer ? Uint8Array.of(extra, ...octets) : octets)
        }),
    }
  }

  it.for([
    ['xmodem-crc', 'rx -q -c out.bin', 'out.bin', 1],
    ['xmodem-1k', 'rx -q -c out.bin', 'out.bin', 1],
    ['ymodem', 'rb -q', 'image.bin', 1],
    ['ymodem', 'rb -q', 'image.bin', 2],
  ] as const)('%s says the first block again to "%s", which says C to a damaged one', async (row, t) => {
    const [name, command, file, nth] = row
    const folder = folderOf(t)
    const content = contentOf(5000)
    const wrap = (port: PortRunOptions['port']) => damaging(port, nth)
    const { end, events } = await table(t, command, folder, writeByDialect(planOf(name, content)), wrap)
    expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done', attempts: 1, retries: 1 } })
    expect(events.filter(event => event.kind === 'retry')).toHaveLength(1)
    expect(readFileSync(join(folder, file)).subarray(0, 5000)).toEqual(Buffer.from(content))
  })

  it.for([
    ['xmodem-1k', 'rx -q -c out.bin', 'out.bin', 1],
    ['ymodem', 'rb -q', 'image.bin', 2],
  ] as const)('%s is not misled by a C to "%s" that crossed the first block', async (row, t) => {
    const [name, command, file, nth] = row
    const folder = folderOf(t)
    const content = contentOf(5000)
    const wrap = (port: PortRunOptions['port']) => damaging(port, nth, 0x43)
    const { end } = await table(t, command, folder, writeByDialect(planOf(name, content)), wrap)
    expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done', attempts: 1, retries: 0 } })
    expect(readFileSync(join(folder, file)).subarray(0, 5000)).toEqual(Buffer.from(content))
  })

  it('a cancel makes the receiver end at once', async t => {
    const folder = folderOf(t)
    const peer = await programAtPty('rx -q -c out.bin; echo $? > status', folder)
    t.onTestFinished(() => peer.end())
    const port = await openLocalPort(peer.path, { baud: BAUD, parity: 'none', stopBits: 1 })
    t.onTestFinished(() => port.close())
    const abort = new AbortController()
    const end = await runOnPort(writeByDialect(planOf('xmodem-crc', contentOf(100_000))), {
      ...{ port, echo: false, nowMs: () => performance.now(), signal: abort.signal },
      store: () => ({ got: 'failed', why: 'absent' }),
      onEvent: event => {
        if (event.kind === 'progress' && event.done > 20_000) abort.abort()
      },
    })
    expect(end).toMatchObject({ ended: 'stopped', why: 'cancelled' })
    await peer.ended
    expect(existsSync(join(folder, 'status'))).toBe(true)
    expect(readFileSync(join(folder, 'status'), 'utf8').trim()).not.toBe('0')
  })

  const receiving = (protocol: ReceivePlan['protocol'], check: ReceivePlan['check']): ReceivePlan => ({
    ...{ protocol, check, baud: BAUD, mostOctets: 1_000_000, insideMs: 300 },
  })

  it.for([
    ['sx -q image.bin', 'sum', 3000],
    ['sx -q image.bin', 'crc', 3000],
    ['sx -q -k image.bin', 'crc', 40_000],
  ] as const)('"%s" sends to XMODEM with %s: %i octets', async ([command, check, octets], t) => {
    const content = contentOf(octets)
    const folder = folderOf(t, { 'image.bin': content })
    const { end } = await table(t, command, folder, receiveByXmodem(receiving('xmodem', check)))
    if (end.ended !== 'returned' || end.value.ended !== 'done') throw new Error(JSON.stringify(end))
    const [file] = end.value.files
    expect(file.octets.subarray(0, octets)).toEqual(content)
    expect([...file.octets.subarray(octets)].every(octet => octet === SUB)).toBe(true)
  })

  it('"sb" sends two files to YMODEM, each with its name and length', async t => {
    const files = { 'one.bin': contentOf(3000), 'two.bin': contentOf(129) }
    const folder = folderOf(t, files)
    const { end } = await table(
      t,
      'sb -q -k one.bin two.bin',
      folder,
      receiveByXmodem(receiving('ymodem', 'crc')),
    )
    if (end.ended !== 'returned' || end.value.ended !== 'done') throw new Error(JSON.stringify(end))
    expect(end.value.files.map(f => [f.name, f.octets])).toEqual(Object.entries(files))
  })
})
