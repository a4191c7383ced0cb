import { spawn } from 'node:child_process'
import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { openLocalPort } from '../../main/serial/local-port.ts'
import { runOnPort } from '../../main/serial/runner.ts'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { writeByDialect } from '../../shared/dialect/interpret.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import { testFolder } from '../support/folder.ts'
import { needs } from '../support/needs.ts'
import { programAtPty } from '../support/pty.ts'
import type { Measured } from './table.ts'

/**
 * XMODEM-1K of one file to the same receiver (`rx -c` of lrzsz) over the same kind of pseudo-terminal, by `sx -k` and
 * by the workbench in turn. The pty does not pace, so this is what the program costs by itself; both have the pauses
 * of `rx` at the beginning and the end in them.
 */

const OCTETS = 2 * 1024 * 1024
const RUNS = 5
const BAUD = 115_200

export async function benchSerialWrite(): Promise<Measured[]> {
  if (needs('socat') === undefined || needs('lrzsz') === undefined) {
    const value = 'LEFT OUT: socat or lrzsz is not here'
    return [{ what: 'XMODEM-1K against sx -k', value, goal: '', reached: true }]
  }
  const content = Uint8Array.from({ length: OCTETS }, (_, i) => (7 * i + 3 + (i >> 8) * 13) & 0xff)
  const times = { sx: [] as number[], ours: [] as number[] }
  for (let i = 0; i < RUNS; i++) {
    times.sx.push(await once(content, bySx))
    times.ours.push(await once(content, byWorkbench))
  }
  const median = (of: number[]) => of.sort((a, b) => a - b)[Math.floor(RUNS / 2)]
  const [sx, ours] = [median(times.sx), median(times.ours)]
  const size = `${OCTETS / 1024 / 1024} MiB by XMODEM-1K over a pty to rx -c, median of ${RUNS}`
  return [
    { what: `${size}: sx -k`, value: `${sx.toFixed(0)} ms`, goal: '', reached: true },
    {
      what: `${size}: the workbench`,
      value: `${ours.toFixed(0)} ms`,
      goal: 'not slower than sx -k',
      reached: ours <= sx,
    },
  ]
}

type Send = (path: string, folder: string, content: Uint8Array) => Promise<void>

/** @returns how long the sender took, in milliseconds */
async function once(content: Uint8Array, send: Send): Promise<number> {
  const folder = testFolder('bench-serial')
  writeFileSync(join(folder.path, 'image.bin'), content)
  const peer = await programAtPty('rx -q -c out.bin', folder.path)
  try {
    const started = performance.now()
    await send(peer.path, folder.path, content)
    const tookMs = performance.now() - started
    await peer.ended
    if (!readFileSync(join(folder.path, 'out.bin')).subarray(0, OCTETS).equals(content))
      throw new Error('the receiver did not get the file')
    return tookMs
  } finally {
    await peer.end()
    folder.remove()
  }
}

const bySx: Send = (path, folder) =>
  new Promise((resolve, reject) => {
    const command = `timeout 60 sx -q -k image.bin < ${path} > ${path}`
    spawn('sh', ['-c', command], { cwd: folder, stdio: 'ignore' })
      .on('error', reject)
      .on('exit', () => resolve())
  })

const byWorkbench: Send = async (path, _folder, content) => {
  const port = await openLocalPort(path, { baud: BAUD, parity: 'none', stopBits: 1 })
  try {
    const end = await runOnPort(
      writeByDialect({
        dialect: builtInDialects().get('xmodem-1k') as Dialect,
        baud: BAUD,
        image: { octets: content, address: 0, fileName: 'image.bin' },
        pages: [],
        expectBefore: {},
        expectAfter: {},
      }),
      {
        ...{ port, echo: false, nowMs: () => performance.now(), signal: AbortSignal.timeout(60_000) },
        store: () => ({ got: 'failed', why: 'absent' }),
        onEvent: () => {},
      },
    )
    if (end.ended !== 'returned' || end.value.ended !== 'done') throw new Error(JSON.stringify(end))
  } finally {
    await port.close()
  }
}
