import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { openLocalPort } from '../../main/serial/local-port.ts'
import { type LineSettings, type OpenPort, PortLostError } from '../../main/serial/port.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { testFolder } from '../support/folder.ts'
import { needs, titled } from '../support/needs.ts'
import { type PtyPair, ptyPair } from '../support/pty.ts'

const PLAIN: LineSettings = { baud: 115_200, parity: 'none', stopBits: 1 }

/** Collects what a port hears, and waits for so many octets of it. */
function ear(port: OpenPort) {
  const got: number[] = []
  let wanted = { count: Number.POSITIVE_INFINITY, tell: () => {} }
  port.onOctets(octets => {
    got.push(...octets)
    if (got.length >= wanted.count) wanted.tell()
  })
  return {
    got,
    count: (count: number) =>
      new Promise<number[]>(resolve => {
        wanted = { count, tell: () => resolve(got) }
        if (got.length >= count) resolve(got)
      }),
  }
}

const codeOf = (opening: Promise<unknown>): Promise<string> =>
  opening.then(
    () => 'opened',
    error => (error instanceof ProblemError ? error.problem.code : String(error)),
  )

describe.skipIf(needs('socat') === undefined)(titled('a port of this computer', 'socat'), () => {
  const ends: (() => Promise<void>)[] = []
  afterEach(async () => {
    for (const end of ends.splice(0).reverse()) await end()
  })
  const pair = async (): Promise<PtyPair> => {
    const made = await ptyPair()
    ends.push(() => made.end())
    return made
  }
  const opened = async (path: string, settings = PLAIN) => {
    const port = await openLocalPort(path, settings)
    ends.push(() => port.close())
    return port
  }

  it('carries every octet there and back', async () => {
    const { a, b } = await pair()
    const [here, there] = [await opened(a), await opened(b)]
    const [heardHere, heardThere] = [ear(here), ear(there)]
    const all = Uint8Array.from({ length: 256 }, (_, i) => i)
    await here.write(all)
    expect(await heardThere.count(256)).toEqual([...all])
    await there.write(all.toReversed())
    expect(await heardHere.count(256)).toEqual([...all.toReversed()])
    expect(here.latencyMs).toBe(0)
  })

  it('takes at once what there is room for, in order with what was written before', async () => {
    const { a, b } = await pair()
    const [here, there] = [await opened(a), await opened(b)]
    const heard = ear(there)
    expect(here.writeNow?.(Uint8Array.of(1, 2))).toBe(2)
    const writing = here.write(Uint8Array.of(3))
    // A write is under way, and nothing may overtake it.
    expect(here.writeNow?.(Uint8Array.of(9))).toBe(0)
    await writing
    expect(await heard.count(3)).toEqual([1, 2, 3])
    await here.close()
    expect(here.writeNow?.(Uint8Array.of(4))).toBe(0)
  })

  it('looks for no answer while another port is open', async () => {
    const { a, b } = await pair()
    const here = await opened(a)
    const there = await opened(b)
    const heard = ear(here)
    await there.write(Uint8Array.of(5))
    expect(here.hearSoon?.()).toBe(false)
    expect(await heard.count(1)).toEqual([5])
  })

  it('carries much more than a pty holds, in order', async () => {
    const { a, b } = await pair()
    const [here, there] = [await opened(a), await opened(b)]
    const heard = ear(there)
    const sent: number[] = []
    for (let i = 0; i < 64; i++) {
      const part = Uint8Array.from({ length: 1024 }, (_, k) => (i * 7 + k) & 0xff)
      sent.push(...part)
      await here.write(part)
    }
    expect(await heard.count(sent.length)).toEqual(sent)
  })

  it('changes rate, parity and stop bits while it is open', async () => {
    const { a, b } = await pair()
    const [here, there] = [await opened(a), await opened(b)]
    const heard = ear(there)
    await here.set({ baud: 57_600, parity: 'none', stopBits: 1 })
    await here.set({ baud: 57_600, parity: 'even', stopBits: 1 })
    await here.set({ baud: 420_000, parity: 'odd', stopBits: 2 })
    await here.write(Uint8Array.of(1, 2, 3))
    expect(await heard.count(3)).toEqual([1, 2, 3])
    const back = ear(here)
    await there.write(Uint8Array.of(4))
    expect(await back.count(1)).toEqual([4])
  })

  it('says that it has no control lines, and goes on', async () => {
    const { a } = await pair()
    const here = await opened(a)
    expect(await here.lines({ dtr: false, rts: true })).toBe('not-available')
    expect(await here.lines({ break: true })).toBe('not-available')
    await here.write(Uint8Array.of(1))
  })

  it('tells that the cable was pulled, in the middle of a stream too, and ends every write', async () => {
    const { a, b, hangUp } = await pair().then(p => ({ a: p.a, b: p.b, hangUp: () => p.hangUp() }))
    const [here, there] = [await opened(a), await opened(b)]
    ear(here)
    ear(there)
    const lost = new Promise<string>(resolve => here.onLost(resolve))
    const streaming = (async () => {
      for (;;) await there.write(new Uint8Array(512))
    })().catch(error => error)
    await hangUp()
    // True of an adapter and of a pseudo-terminal alike.
    expect(await lost).toBe('The port has gone: it was unplugged, or closed from its other end.')
    expect(await streaming).toBeInstanceOf(PortLostError)
    await expect(here.write(Uint8Array.of(1))).rejects.toBeInstanceOf(PortLostError)
    // Whoever asks later is told as well.
    expect(await new Promise<string>(resolve => here.onLost(resolve))).toContain('gone')
    await here.close()
  })

  it('does not wait for ever where nobody takes what it writes', async () => {
    const { a } = await pair()
    const here = await opened(a, { ...PLAIN, baud: 4_000_000 })
    const big = new Uint8Array(256 * 1024)
    await expect(here.write(big)).rejects.toBeInstanceOf(PortLostError)
    await here.close()
  })

  it('forgets what came before, and hears what comes after', async () => {
    const { a, b } = await pair()
    const [here, there] = [await opened(a), await opened(b)]
    const heard = ear(here)
    await there.write(Uint8Array.of(9, 9, 9))
    await heard.count(3)
    await here.flushInput()
    await there.write(Uint8Array.of(1))
    expect((await heard.count(4)).slice(3)).toEqual([1])
  })

  it('is nobody else’s while it is open, and free again after the close', async () => {
    const { a } = await pair()
    const here = await opened(a)
    expect(await codeOf(openLocalPort(a, PLAIN))).toBe('port.in-use')
    await here.close()
    await here.close()
    const again = await opened(a)
    await again.write(Uint8Array.of(1))
  })

  it('is told by name what is no port', async () => {
    const folder = testFolder('ports')
    ends.push(async () => folder.remove())
    const file = join(folder.path, 'file')
    writeFileSync(file, '')
    expect(await codeOf(openLocalPort(file, PLAIN))).toBe('port.not-a-port')
    expect(await codeOf(openLocalPort('/dev/null', PLAIN))).toBe('port.not-a-port')
    expect(await codeOf(openLocalPort(join(folder.path, 'nothing'), PLAIN))).toBe('port.missing')
  })
})
