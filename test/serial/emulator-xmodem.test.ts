import { spawn } from 'node:child_process'
import { closeSync, constants, openSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { writeByDialect } from '../../shared/dialect/interpret.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { type Emulated, emulated } from '../support/emulated.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'
import { needs, titled } from '../support/needs.ts'
import { smallBench } from '../support/small-bench.ts'

/** The emulated XMODEM and YMODEM loaders against lrzsz (Debian), and against our own senders. */

const bench = smallBench()
const wren = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6') as ReceiverType
const made = benchImage(bench, wren, 'wren-6-2.4.0')
if (!made.ok) throw new Error(made.problems[0].message)
const { payload } = made.value

let folder: TestFolder | undefined
let table: Emulated | undefined
afterEach(async () => {
  await table?.end()
  folder?.remove()
})

/** @returns what the sender's exit status was; -1 when it took too long */
function send(program: string, args: readonly string[], path: string): Promise<number> {
  folder = testFolder('xmodem')
  const file = join(folder.path, 'image.bin')
  writeFileSync(file, payload)
  const line = openSync(path, constants.O_RDWR | constants.O_NOCTTY)
  return new Promise(resolve => {
    const child = spawn(program, [...args, file], { stdio: [line, line, 'ignore'] })
    const late = setTimeout(() => child.kill('SIGKILL'), 15_000)
    child.once('exit', code => {
      clearTimeout(late)
      closeSync(line)
      resolve(code ?? -1)
    })
  })
}

const ran = (emulation: Emulated['emulation']) =>
  new Promise<void>(resolve => {
    const { trace } = emulation.live.device
    trace.watch = told => {
      if (told.told === 'device' && told.state === 'running its image') resolve()
    }
  })

describe.skipIf(needs('socat') === undefined || needs('lrzsz') === undefined)(
  titled('the emulated loader takes what lrzsz sends', 'socat', 'lrzsz'),
  () => {
    it.each([
      ['xmodem-crc', 'sx', ['-q']],
      ['xmodem-1k', 'sx', ['-q', '-k']],
      ['ymodem', 'sb', ['-q', '-k']],
    ] as const)('%s from %s %s', async (dialect, program, args) => {
      table = await emulated({ dialect, pace: 'line' })
      const running = ran(table.emulation)
      await table.port.close()
      expect(await send(program, args, table.hostPath)).toBe(0)
      await running
      const { memory } = table.emulation
      expect(memory.program.octets.subarray(0, payload.length)).toEqual(payload)
      expect(table.emulation.held()).toMatchObject({ outcome: 'updated', firmware: '2.4.0' })
    })
  },
)

describe.skipIf(needs('socat') === undefined)(
  titled('the emulated loader takes what we send', 'socat'),
  () => {
    it.each([
      ['xmodem-crc', [], false],
      ['xmodem-1k', [], false],
      ['ymodem', [], false],
      ['ymodem', [{ name: 'line-noise', value: '0.00002' }], false],
      ['xmodem-crc', [], true],
    ] as const)('%s with %j (echo: %s)', async (dialect, faults, echo) => {
      table = await emulated({ dialect, faults, echo, pace: 'line' })
      const running = ran(table.emulation)
      const end = await table.run(
        writeByDialect({
          dialect: builtInDialects().get(dialect) as Dialect,
          baud: 115_200,
          image: { octets: payload, address: 0, fileName: 'image.bin' },
          ...{ pages: [], expectBefore: {}, expectAfter: {}, pauseMs: 200 },
        }),
      )
      expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done', state: 'written-not-proven' } })
      await running
      expect(table.emulation.memory.program.octets.subarray(0, payload.length)).toEqual(payload)
      expect(table.emulation.held().outcome).toBe('updated')
    })
  },
)
