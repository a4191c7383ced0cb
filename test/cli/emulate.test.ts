import { writeFileSync } from 'node:fs'
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
import { smallBench } from '../support/small-bench.ts'

const bench = smallBench()
const wren = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6') as ReceiverType
const made = benchImage(bench, wren, 'wren-6-2.4.0')
if (!made.ok) throw new Error(made.problems[0].message)
const { payload } = made.value
const whole = new Uint8Array(wren.flash.programBytes).fill(0xff)
whole.set(payload)

async function updateAt(path: string) {
  const staging = stagingOf(made.ok ? made.value : (undefined as never), 'IMAGES')
  const plan = planFor(bench, wren, 'cable', staging)
  const port = await openPort({ kind: 'local', path }, { baud: 115_200, parity: 'none', stopBits: 1 })
  const card = new VirtualCard(bench.cards[0], new TraceRecorder())
  try {
    return await runOnPort(updateReceiver({ ...plan, timing: { ...plan.timing, pauseMs: 100 } }), {
      port,
      echo: false,
      store: asked => card.ask(asked).result,
      onEvent: () => {},
      signal: new AbortController().signal,
      nowMs: () => performance.now(),
      longestMs: 30_000,
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
    last = new Emulating('--pace', 'none', '--bench', join(folder?.path ?? '', 'bench.json'), ...args)
    return last
  }
  const prepare = () => {
    folder = testFolder('emulate')
    writeFileSync(join(folder.path, 'bench.json'), writeBench(bench))
    return join(folder.path, 'kept.json')
  }

  it('keeps what a cut left, and is brought back by the next run', { timeout: 60_000 }, async () => {
    const kept = prepare()
    const cut = start('--state', kept, '--fault', 'cut-at-block=5', '--once', '2')
    const failed = await updateAt((await cut.first('ready')).hostPort ?? '')
    expect(failed).toMatchObject({ ended: 'returned', value: { ended: 'failed' } })
    expect(await cut.code).toBe(1)
    const after = await cut.first('end')
    expect(after.held).toMatchObject({ outcome: 'needs-cable', firmware: 'none that starts' })
    expect(cut.told.map(t => t.text)).toContain('The supply of the receiver was cut.')

    const again = start('--state', kept, '--once', '2')
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

  it('ends cleanly when it is told to', async () => {
    prepare()
    const playing = start()
    await playing.first('ready')
    playing.child.kill('SIGTERM')
    expect(await playing.code).toBe(0)
    expect((await playing.first('end')).why).toBe('stopped')
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
    [['emulate', '--port', 'new', '--dialect', 'smoke'], /dialect: There is no dialect called "smoke"/],
    [['emulate', '--port', 'new', '--once', 'x'], /--once: "x" is not a time/],
  ])('%s is refused with what to do', async (args, message) => {
    const { code, err } = await preflash(...args)
    expect(code).toBe(2)
    expect(err).toMatch(message)
  })
})
