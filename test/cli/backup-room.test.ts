import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { describe, expect, it, onTestFinished, vi } from 'vitest'
import { checkBackupRoom, type RoomSteps } from '../../main/cli/backup-room.ts'
import { BadInput } from '../../main/cli/ending.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import { preflash } from '../support/cli.ts'
import { testFolder } from '../support/folder.ts'

const words = (error: unknown): string => {
  if (!(error instanceof BadInput)) throw error
  return error.problems.map(sayProblem).join('\n')
}
const OCTETS = 10_000
const CLUSTER = 4096

/** A data folder that is not there yet, and a folder for copies, on disks with so many clusters free. */
function disks(free: { data: number; copies: number }, { apart = true, blocks = 100 } = {}) {
  const folder = testFolder('backup-room')
  onTestFinished(() => folder.remove())
  const isCopies = (path: unknown) => String(path).endsWith('copies')
  const steps = {
    stat: async (path: string) => {
      const about = isCopies(path) ? await fs.stat(folder.path) : await fs.stat(path)
      return { ...about, dev: apart && isCopies(path) ? 2 : 1 }
    },
    statfs: async (path: string) => {
      const bavail = isCopies(path) ? free.copies : free.data
      return { type: 0, bsize: CLUSTER, blocks, bfree: bavail, bavail }
    },
  } as unknown as RoomSteps
  const dataFolder = join(folder.path, 'not', 'yet')
  const check = (copy: boolean, canBackUp = true) => {
    const backup = copy ? join(folder.path, 'copies', 'held.bin') : undefined
    return checkBackupRoom({ canBackUp }, OCTETS, { backup, dataFolder }, steps).then(() => 'fine', words)
  }
  return { check, folder: folder.path }
}

describe('room for what a receiver holds', () => {
  it('is needed in whole clusters where it is kept, to the last one', async () => {
    expect(await disks({ data: 3, copies: 0 }).check(false)).toBe('fine')
    const { check, folder } = disks({ data: 2, copies: 99 })
    const said = await check(false)
    expect(said).toContain(`${folder}, --data: `)
    expect(said).toMatch(/\(12288 octets are needed, and 8192 are free\)\. Nothing was sent\. .* with --data/)
    expect(await check(true)).toBe(said)
  })

  it('is needed where the copy goes', async () => {
    expect(await disks({ data: 3, copies: 3 }).check(true)).toBe('fine')
    expect(await disks({ data: 3, copies: 2 }).check(true)).toMatch(
      /copies, --backup: .*\(12288 octets are needed, and 8192 are free\)\. Nothing was sent\. .*name a file/,
    )
  })

  it('is needed twice on one disk', async () => {
    expect(await disks({ data: 6, copies: 6 }, { apart: false }).check(true)).toBe('fine')
    const few = disks({ data: 5, copies: 5 }, { apart: false })
    expect(await few.check(false)).toBe('fine')
    expect(await few.check(true)).toMatch(/--backup: .*\(24576 octets are needed, and 20480 are free\)/)
  })

  it('is not asked for where nothing is read out, nor of a disk that does not say how large it is', async () => {
    expect(await disks({ data: 0, copies: 0 }).check(true, false)).toBe('fine')
    expect(await disks({ data: 0, copies: 0 }, { blocks: 0 }).check(true)).toBe('fine')
  })

  it('keeps a write from being begun where there is none', async () => {
    // The program itself, on disks of which one cluster is free.
    const full = `import fs from 'node:fs/promises'
      import { syncBuiltinESMExports } from 'node:module'
      fs.statfs = async () => ({ type: 0, bsize: 512, blocks: 9, bfree: 1, bavail: 1 })
      syncBuiltinESMExports()`
    vi.stubEnv('NODE_OPTIONS', `--import data:text/javascript,${encodeURIComponent(full)}`)
    onTestFinished(() => void vi.unstubAllEnvs())
    const folder = testFolder('backup-room')
    onTestFinished(() => folder.remove())
    const image = join(folder.path, 'image.bin')
    await fs.writeFile(image, 'x'.repeat(600))
    const direct = ['--direct', '--confirm', 'wiring', '--image', image, '--page-bytes', '1024']
    const onBench = ['--receiver', 'plover-soarer', '--image', 'plover-10-2.3.0']
    const gear = ['--adapter', 'service-adapter', '--cable', 'service-cable']
    for (const how of [direct, [...onBench, ...gear, '--check']]) {
      const run = await preflash('write', '--port', '/dev/ttyX9', '--dialect', 'st-an3155', ...how)
      expect([run.code, run.out]).toEqual([2, ''])
      expect(run.err).toMatch(/^\S+, --data: .*too little room \(\d+ octets are needed, and 512 are free\)/)
    }
  }, 60_000)
})
