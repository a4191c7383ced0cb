import { existsSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { openPort } from '../../main/serial/open-port.ts'
import { runOnPort } from '../../main/serial/runner.ts'
import { sha256Hex } from '../../shared/image/digest.ts'
import { writeBench } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { updateReceiver } from '../../shared/procedure/update.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { planFor, stagingOf } from '../../shared/rehearse/table.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { preflash } from '../support/cli.ts'
import { Emulating } from '../support/emulating.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'
import { needs, titled } from '../support/needs.ts'
import { ptyPair } from '../support/pty.ts'
import { lendPort } from '../support/ser2net.ts'
import { smallBench } from '../support/small-bench.ts'

const bench = smallBench()
const wren = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6') as ReceiverType
const made = benchImage(bench, wren, 'wren-6-2.4.0')
if (!made.ok) throw new Error(made.problems[0].message)
const { payload } = made.value
const whole = new Uint8Array(wren.flash.programBytes).fill(0xff)
whole.set(payload)

/** @param wayMs what the way to the emulator takes, and the host has to allow for */
async function updateAt(path: string, wayMs = 0) {
  const staging = stagingOf(made.ok ? made.value : (undefined as never), 'IMAGES')
  const plan = planFor(bench, wren, 'cable', staging)
  const port = await openPort({ kind: 'local', path }, { baud: 115_200, parity: 'none', stopBits: 1 })
  Object.defineProperty(port, 'latencyMs', { value: port.latencyMs + wayMs })
  const card = new VirtualCard(bench.cards[0], new TraceRecorder())
  try {
    return await runOnPort(updateReceiver({ ...plan, timing: { ...plan.timing, pauseMs: 100 } }), {
      port,
      echo: false,
      store: asked => card.ask(asked).result,
      onEvent: () => {},
      signal: new AbortController().signal,
      nowMs: () => performance.now(),
      longestMs: 60_000,
    })
  } finally {
    await port.close()
  }
}

describe.skipIf(needs('socat') === undefined)(titled('preflash emulate', 'socat'), () => {
  let folder: TestFolder | undefined
  let last: Emulating | undefined
  afterEach(async () => {
    last?.child.kill('SIGTERM')
    await last?.code
    folder?.remove()
  })
  const start = (...args: string[]) => {
    const its = ['--pace', 'none', '--bench', join(folder?.path ?? '', 'bench.json')]
    last = new Emulating(...its, ...args)
    return last
  }
  const prepare = () => {
    folder = testFolder('emulate')
    writeFileSync(join(folder.path, 'bench.json'), writeBench(bench))
    return join(folder.path, 'kept.json')
  }

  it('keeps what a cut left, and is brought back by the next run', { timeout: 60_000 }, async () => {
    const kept = prepare()
    const cut = start('--state', kept, '--fault', 'cut-at-block=5', '--once', '2', '--echo', 'no')
    const failed = await updateAt((await cut.first('ready')).hostPort ?? '')
    expect(failed).toMatchObject({ ended: 'returned', value: { ended: 'failed' } })
    expect(await cut.code).toBe(1)
    const after = await cut.first('end')
    expect(after.held).toMatchObject({ outcome: 'needs-cable', firmware: 'none that starts' })
    expect(cut.told.map(t => t.text)).toContain('The supply of the receiver was cut.')

    const again = start('--state', kept, '--once', '2', '--echo', 'no')
    const ready = await again.first('ready')
    expect(ready.held?.programSha256).toBe(after.held?.programSha256)
    const done = await updateAt(ready.hostPort ?? '')
    expect(done).toMatchObject({ ended: 'returned', value: { ended: 'done' } })
    expect(await again.code).toBe(0)
    expect(await again.first('end')).toMatchObject({
      why: 'quiet',
      held: { outcome: 'updated', firmware: '2.4.0', programSha256: sha256Hex(whole) },
    })
    const texts = again.told.map(t => t.text)
    expect(texts).toContain('It erases its program flash.')
    expect(texts).toContain('The receiver is running its image.')
  })

  it.each(['SIGINT', 'SIGTERM', 'SIGHUP'] as const)(
    'ends cleanly when it is told to: %s, twice',
    async signal => {
      prepare()
      const playing = start()
      const ready = await playing.first('ready')
      playing.child.kill(signal)
      playing.child.kill(signal)
      expect(await playing.code).toBe(0)
      expect((await playing.first('end')).why).toBe('stopped')
      expect(existsSync(ready.hostPort ?? '')).toBe(false)
    },
  )

  it.each(['preflash-bus', 'xmodem-crc'])(
    'with --once it ends where no host ever speaks, and says so: %s',
    async dialect => {
      prepare()
      const playing = start('--dialect', dialect, '--once', '--wait-for-host', '0.4')
      await playing.first('ready')
      expect(await playing.code).toBe(1)
      const end = await playing.first('end')
      expect(end).toMatchObject({ why: 'no-host', heardOctets: 0, held: { outcome: 'unchanged' } })
      expect(end.text).toMatch(/^No host has said anything in [0-9.]+ s\.$/)
    },
  )
})

const lent = titled('preflash emulate on a serial server', 'socat', 'ser2net')
describe.skipIf(needs('socat') === undefined || needs('ser2net') === undefined)(lent, () => {
  const ends: (() => unknown)[] = []
  afterEach(async () => {
    for (const end of ends.splice(0).reverse()) await end()
  })

  /** It tries until the server listens. */
  async function playing(port: number, ...more: readonly string[]): Promise<Emulating> {
    for (;;) {
      const started = new Emulating('--port', `rfc2217://127.0.0.1:${port}`, ...more)
      const code = await Promise.race([started.code, started.first('ready').then(() => undefined)])
      ends.push(() => started.child.kill('SIGTERM'))
      if (code === undefined) return started
    }
  }

  it('is updated by a host at the far side of the server', { timeout: 120_000 }, async () => {
    const folder = testFolder('emulate-server')
    ends.push(() => folder.remove())
    const file = join(folder.path, 'bench.json')
    writeFileSync(file, writeBench(bench))
    const pair = await ptyPair()
    ends.push(() => pair.end())
    const { port, end } = await lendPort(pair.a)
    ends.push(end)
    const played = await playing(port, '--bench', file, '--echo', 'no', '--once', '2')
    const done = await updateAt(pair.b, 300)
    expect(done).toMatchObject({ ended: 'returned', value: { ended: 'done' } })
    expect(await played.code).toBe(0)
    expect(await played.first('end')).toMatchObject({
      why: 'quiet',
      held: { outcome: 'updated', programSha256: sha256Hex(whole) },
    })
  })

  it('says that the server has gone', { timeout: 60_000 }, async () => {
    const pair = await ptyPair()
    ends.push(() => pair.end())
    const { port, server, end } = await lendPort(pair.a)
    ends.push(end)
    const played = await playing(port)
    server.kill()
    expect(await played.code).toBe(1)
    expect(await played.first('end')).toMatchObject({
      why: 'port-lost',
      text: 'The serial server has ended the connection.',
    })
  })
})

describe('what preflash emulate is asked for', () => {
  it('names dialects and faults', async () => {
    const { code, out } = await preflash('emulate', '--list', '--json')
    expect(code).toBe(0)
    const { dialects, faults } = JSON.parse(out)
    expect(dialects.map((d: { name: string }) => d.name)).toContain('preflash-bus')
    expect(faults.map((f: { name: string }) => f.name)).toContain('first-write-fails')
  })

  it.each([
    [['emulate'], /--port: No port is named/],
    [['emulate', '--port', '/nowhere/at/all'], /nowhere/],
    [['emulate', '--port', 'new', '--dialect', 'smoke'], /--dialect: "smoke" is not the name of a dialect/],
    [['emulate', '--port', 'new', '--once', 'x'], /--once: "x" is not a time/],
    [
      ['emulate', '--port', 'new', '--once', '1', '--wait-for-host', '0'],
      /--wait-for-host: "0" is not a time/,
    ],
    [['emulate', '--port', 'new', '--wait-for-host', '9'], /--wait-for-host: Without --once .* Add --once/],
    [['emulate', '--port', 'new', '--echo', 'maybe'], /--echo: "maybe" is not understood/],
    [['emulate', '--port', 'localhost:1'], /No serial server answers at localhost:1/],
    [['emulate', '--port', 'nowhere'], /"nowhere" is not the name of a port/],
  ])('%s is refused with what to do', async (args, message) => {
    const { code, err } = await preflash(...args)
    expect(code).toBe(2)
    expect(err).toMatch(message)
  })
})
