import { type ChildProcess, spawn } from 'node:child_process'
import { closeSync, existsSync, mkdirSync, openSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, describe, expect, it, onTestFinished } from 'vitest'
import { projectRoot } from '../../main/scripts/build.mjs'
import { demoDialects } from '../../shared/dialect/built-in/all.ts'
import { type Dialect, writeDialect } from '../../shared/dialect/schema.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { preflash } from '../support/cli.ts'
import { testFolder } from '../support/folder.ts'
import { needs, titled } from '../support/needs.ts'
import { serialPlan } from '../support/serial-bench.ts'
import { playedReceiver } from '../support/write-desk.ts'
import { writePlan } from '../support/write-plan.ts'

const WIRED = ['--adapter', 'bench-programmer', '--cable', 'programmer-cable']
const LOOKED = ['--caution', 'supply=adapter', '--caution', 'drive=bare', '--caution', 'reach=clear']

function folderWithBench() {
  const folder = testFolder('cli-write')
  onTestFinished(() => folder.remove())
  mkdirSync(join(folder.path, 'data'))
  const bench = join(folder.path, 'small.preflash.json')
  writeFileSync(bench, JSON.stringify(writePlan().bench))
  return { path: folder.path, bench, data: join(folder.path, 'data') }
}

describe('preflash write', () => {
  it('says what is wrong with what was named', async () => {
    const cases: [string[], RegExp][] = [
      [
        ['--port', '/dev/ttyX9', ...WIRED, '--dialect', 'nobody'],
        /--dialect: "nobody" is not the name of a dialect/,
      ],
      [['--port', '/dev/ttyX9', ...WIRED, '--image', 'none'], /none/],
      [['--port', '/dev/ttyX9', '--adapter', 'bench-programmer'], /--cable: The cable is not named/],
      [[...WIRED], /--port: No port is named/],
      [['--port', 'x', '--direct', '--dialect', 'xmodem-crc'], /nobody checks the wiring/],
      [['--port', 'x', ...WIRED, '--data', import.meta.filename], /--data: This is a file, not the folder/],
    ]
    for (const [args, words] of cases) {
      const { code, err } = await preflash('write', ...args)
      expect([code, err]).toEqual([2, expect.stringMatching(words)])
    }
  }, 120_000)

  it('sends nothing while something does not hold, and says what', async () => {
    const { code, out } = await preflash('write', '--port', '/dev/ttyX9', ...WIRED, '--json')
    const said = JSON.parse(out)
    expect([code, said.ready]).toEqual([1, false])
    const broken = said.preconditions.filter((p: { holds: string }) => p.holds !== 'yes')
    expect(broken.map((p: { id: string }) => p.id)).toEqual(['port', 'cautions'])
    expect(said.questions.map((q: { id: string }) => q.id)).toEqual(['supply', 'drive', 'reach'])
  }, 60_000)

  it('refuses a cable that reverses the supply, whatever is answered', async () => {
    const wrong = ['--adapter', 'bench-programmer', '--cable', 'programmer-cable-swapped']
    const { code, out } = await preflash('write', '--port', '/dev/ttyX9', ...wrong, ...LOOKED, '--json')
    const supply = JSON.parse(out).preconditions.find((p: { id: string }) => p.id === 'supply')
    expect([code, supply.holds]).toEqual([1, 'no'])
  }, 60_000)
})

describe.skipIf(needs('socat') === undefined)(titled('preflash write over a port', 'socat'), () => {
  const children: ChildProcess[] = []
  afterEach(() => {
    for (const child of children.splice(0)) child.kill('SIGKILL')
  })

  it('updates a receiver, and replays the session that it exports', async () => {
    const { path, bench, data } = folderWithBench()
    const played = await playedReceiver()
    const args = ['--bench', bench, '--port', played.path, ...WIRED, ...LOOKED, '--data', data, '--json']
    const { code, out, err } = await preflash('write', ...args)
    expect([code, err]).toEqual([0, ''])
    const end = JSON.parse(out)
    expect(end).toMatchObject({ outcome: 'updated', proven: true, state: 'runs-new' })
    const file = join(path, 'session.json')
    await preflash('log', '--export', end.sessionId, '--out', file, '--data', data)
    const replay = await preflash('log', '--replay', file)
    expect([replay.code, replay.out]).toEqual([0, expect.stringMatching(/The same as recorded/)])
  }, 120_000)

  it('writes to a device on no bench, and says plainly that it is not proven', async () => {
    const { path, data } = folderWithBench()
    const plan = serialPlan('xmodem-crc')
    const played = await playedReceiver({ plan })
    const image = join(path, 'image.hex')
    const octets = Uint8Array.from({ length: 1500 }, (_, i) => i & 0xff)
    writeFileSync(image, writeIntelHex([{ address: 0x0800_0000, octets }]))
    const args = ['--direct', '--confirm', 'wiring', '--dialect', 'xmodem-crc', '--image', image]
    const { code, out } = await preflash('write', '--port', played.path, ...args, '--data', data)
    expect([code, out]).toEqual([0, expect.stringMatching(/SENT AND ACCEPTED, but not proven/)])
    expect(played.emulation.memory.program.octets.subarray(0, 1500)).toEqual(octets)
  }, 120_000)

  it('puts a device on no bench right by the very command that the end names', async () => {
    const { path, data } = folderWithBench()
    const plan = serialPlan('tamsin-twig')
    const played = await playedReceiver({ plan, faults: [{ name: 'cut-at-block', value: '3' }] })
    const image = join(path, "it's new.hex")
    const octets = Uint8Array.from({ length: 1500 }, (_, i) => i & 0xff)
    writeFileSync(image, writeIntelHex([{ address: 0, octets }]))
    const dialect = join(path, 'twig.json')
    writeFileSync(dialect, writeDialect(demoDialects().get('tamsin-twig') as Dialect))
    const args = ['--direct', '--confirm', 'wiring', '--dialect', dialect]
    const first = await preflash('write', ...args, '--port', played.path, '--image', image, '--data', data)
    expect([first.code, first.out]).toEqual([1, expect.stringMatching(/To put it right/)])
    const command = /To put it right: preflash (.*)/.exec(first.out)?.[1] ?? ''
    expect(command).toMatch(/^write --direct --recovers \S+ --confirm wiring --port \S+ --data \S+$/)

    // Nobody answers there any more, and what is left out comes from the session.
    await played.emulator.stop()
    const more = await preflash(...command.split(' '), '--page-bytes', '1024')
    expect([more.code, more.err]).toEqual([
      2,
      expect.stringMatching(/--page-bytes is taken from the session/),
    ])
    const { memory } = played.emulation
    const again = await playedReceiver({ plan, memory, pair: played.pair })
    const second = await preflash(...command.split(' '))
    expect(second.err).toMatch(
      /Putting right .*[\s\S]*1\. [\s\S]*3\. Write it's new\.hex again[\s\S]*Rehearsed on/,
    )
    expect([second.code, second.out]).toEqual([0, expect.stringMatching(/SENT AND ACCEPTED/)])
    expect(again.emulation.memory.program.octets.subarray(0, 1500)).toEqual(octets)
  }, 120_000)

  const hasFull = existsSync('/dev/full')
  const titledFull = (text: string) => (hasFull ? text : `${text} (skipped: no /dev/full here)`)

  it.skipIf(!hasFull)(
    titledFull('puts right, though nothing that it says can be kept anywhere'),
    async () => {
      const { path, data } = folderWithBench()
      const plan = serialPlan('tamsin-twig')
      const played = await playedReceiver({ plan, faults: [{ name: 'cut-at-block', value: '3' }] })
      const image = join(path, 'image.hex')
      writeFileSync(image, writeIntelHex([{ address: 0, octets: new Uint8Array(1500).fill(7) }]))
      const dialect = join(path, 'twig.json')
      writeFileSync(dialect, writeDialect(demoDialects().get('tamsin-twig') as Dialect))
      const base = ['write', '--direct', '--confirm', 'wiring', '--port', played.path, '--data', data]
      const first = await preflash(...base, '--dialect', dialect, '--image', image, '--json')
      await played.emulator.stop()
      const { memory } = played.emulation
      const again = await playedReceiver({ plan, memory, pair: played.pair })
      const nowhere = openSync('/dev/full', 'w')
      const tsx = join(projectRoot, 'node_modules', 'tsx', 'dist', 'loader.mjs')
      const args = [...base, '--recovers', JSON.parse(first.out).sessionId]
      const child = spawn(
        process.execPath,
        ['--import', tsx, join(projectRoot, 'main', 'cli', 'preflash.ts'), ...args],
        { stdio: ['ignore', nowhere, nowhere] },
      )
      children.push(child)
      const code = await new Promise(resolve => child.once('exit', resolve))
      closeSync(nowhere)
      const held = again.emulation.memory.program.octets.subarray(0, 1500)
      expect([code, held.every(octet => octet === 7)]).toEqual([0, true])
    },
    120_000,
  )

  it.each(['SIGHUP', 'a reader that is gone'])(
    'leaves no session without an end: %s',
    async how => {
      const { bench, data } = folderWithBench()
      const played = await playedReceiver({ pace: 'line' })
      const tsx = join(projectRoot, 'node_modules', 'tsx', 'dist', 'loader.mjs')
      const cli = join(projectRoot, 'main', 'cli', 'preflash.ts')
      const args = ['--bench', bench, '--port', played.path, ...WIRED, ...LOOKED, '--data', data]
      const child = spawn(process.execPath, ['--import', tsx, cli, 'write', ...args], {
        stdio: ['ignore', 'pipe', 'pipe'],
      })
      children.push(child)
      child.stderr.setEncoding('utf8').once('data', () => {
        if (how === 'SIGHUP') child.kill('SIGHUP')
        child.stderr.destroy()
        child.stdout.destroy()
      })
      const code = await new Promise(resolve => child.once('exit', resolve))
      expect(code).toBe(how === 'SIGHUP' ? 1 : 0)
      const { out } = await preflash('log', '--data', data, '--json')
      const [session] = JSON.parse(out).sessions
      expect(session.ending).toBe(how === 'SIGHUP' ? 'cancelled' : 'done')
    },
    120_000,
  )

  it.skipIf(!hasFull)(
    titledFull('comes to its end where what it says goes onto a disk that is full'),
    async () => {
      const { bench, data } = folderWithBench()
      const played = await playedReceiver()
      const tsx = join(projectRoot, 'node_modules', 'tsx', 'dist', 'loader.mjs')
      const cli = join(projectRoot, 'main', 'cli', 'preflash.ts')
      const args = ['--bench', bench, '--port', played.path, ...WIRED, ...LOOKED, '--data', data]
      const nowhere = openSync('/dev/full', 'w')
      const child = spawn(process.execPath, ['--import', tsx, cli, 'write', ...args], {
        stdio: ['ignore', nowhere, 'ignore'],
      })
      children.push(child)
      closeSync(nowhere)
      expect(await new Promise(resolve => child.once('exit', resolve))).toBe(0)
      const { out } = await preflash('log', '--data', data, '--json')
      expect(JSON.parse(out).sessions[0].ending).toBe('done')
    },
    120_000,
  )

  it('is cancelled by Ctrl-C, and says what the receiver is in', async () => {
    const { bench, data } = folderWithBench()
    const played = await playedReceiver({ pace: 'line', faults: [{ name: 'stall', value: '0.2+60' }] })
    const tsx = join(projectRoot, 'node_modules', 'tsx', 'dist', 'cli.mjs')
    const cli = join(projectRoot, 'main', 'cli', 'preflash.ts')
    const args = ['--bench', bench, '--port', played.path, ...WIRED, ...LOOKED, '--data', data]
    const child = spawn(process.execPath, [tsx, cli, 'write', ...args], { stdio: ['ignore', 'pipe', 'pipe'] })
    children.push(child)
    let out = ''
    child.stdout.setEncoding('utf8').on('data', text => {
      out += text
    })
    child.stderr.setEncoding('utf8').on('data', text => {
      if (/Write|Erase|Enter|Announce/.test(text)) child.kill('SIGINT')
    })
    const code = await new Promise(resolve => child.once('close', resolve))
    expect([code, out]).toEqual([1, expect.stringMatching(/CANCELLED\.[\s\S]*\nNow: .*\nNext: /)])
  }, 120_000)
})
