import { spawn } from 'node:child_process'
import { once } from 'node:events'
import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { errorCode, type FileSteps, removeLeftovers, writeAtomically } from '../../main/store/atomic-write.ts'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

const failing = (code: string) => Object.assign(new Error(code), { code })

describe('writing a file whole or not at all', () => {
  let folder: TestFolder
  let path: string
  beforeEach(async () => {
    folder = testFolder('atomic')
    path = join(folder.path, 'a.txt')
    await fs.writeFile(path, 'old')
  })
  afterEach(() => folder.remove())

  const names = () => fs.readdir(folder.path)
  const write = (steps: Partial<FileSteps> = {}, text = 'new') =>
    writeAtomically(path, Buffer.from(text), { steps: { ...fs, ...steps } })

  it('replaces the old content', async () => {
    await write()
    expect(await fs.readFile(path, 'utf8')).toBe('new')
    expect(await names()).toEqual(['a.txt'])
  })

  it('leaves the old file and nothing else when the rename fails', async () => {
    await expect(write({ rename: () => Promise.reject(failing('EACCES')) })).rejects.toThrow('EACCES')
    expect(await fs.readFile(path, 'utf8')).toBe('old')
    expect(await names()).toEqual(['a.txt'])
  })

  it.each(['writeFile', 'sync'] as const)(
    'leaves the old file and nothing else when %s fails',
    async step => {
      const open: FileSteps['open'] = async (...args) => {
        const file = await fs.open(...args)
        file[step] = async () => {
          if (step === 'writeFile') await file.write('ne')
          throw failing('ENOSPC')
        }
        return file
      }
      await expect(write({ open })).rejects.toThrow('ENOSPC')
      expect(await fs.readFile(path, 'utf8')).toBe('old')
      expect(await names()).toEqual(['a.txt'])
    },
  )

  it('never shows a partial file, not even in the moment before the rename', async () => {
    const seen: string[] = []
    const rename: FileSteps['rename'] = async (from, to) => {
      seen.push(await fs.readFile(path, 'utf8'), await fs.readFile(from, 'utf8'))
      await fs.rename(from, to)
    }
    await write({ rename }, 'n'.repeat(100_000))
    expect(seen).toEqual(['old', 'n'.repeat(100_000)])
  })

  it('brings the content to the disk before the rename, and the folder after it', async () => {
    const done: string[] = []
    const open: FileSteps['open'] = async (name, ...rest) => {
      const file = await fs.open(name, ...rest)
      const sync = file.sync.bind(file)
      file.sync = async () => {
        done.push(String(name) === folder.path ? 'sync folder' : 'sync file')
        await sync()
      }
      return file
    }
    const rename: FileSteps['rename'] = async (from, to) => {
      done.push('rename')
      await fs.rename(from, to)
    }
    await write({ open, rename })
    expect(done).toEqual(['sync file', 'rename', 'sync folder'])
  })

  it('does not mind a system that cannot open folders', async () => {
    const open: FileSteps['open'] = (name, ...rest) =>
      String(name) === folder.path ? Promise.reject(failing('EISDIR')) : fs.open(name, ...rest)
    await write({ open })
    expect(await fs.readFile(path, 'utf8')).toBe('new')
  })

  it('clears away old leftovers of a crash, and only those', async () => {
    const old = '.preflash-01234567-89ab-cdef-0123-456789abcdef.tmp'
    const young = '.preflash-11234567-89ab-cdef-0123-456789abcdef.tmp'
    for (const name of [old, young, '.preflash-mine.tmp', 'b.tmp'])
      await fs.writeFile(join(folder.path, name), '')
    await fs.mkdir(join(folder.path, '.preflash-21234567-89ab-cdef-0123-456789abcdef.tmp'))
    const nowMs = 1_800_000_000_000
    for (const name of await names()) {
      const seconds = (nowMs - (name === young ? 1000 : 3_600_000)) / 1000
      await fs.utimes(join(folder.path, name), seconds, seconds)
    }
    await removeLeftovers(folder.path, nowMs)
    expect((await names()).sort()).toEqual(
      [
        '.preflash-21234567-89ab-cdef-0123-456789abcdef.tmp',
        '.preflash-mine.tmp',
        'a.txt',
        'b.tmp',
        young,
      ].sort(),
    )
    await removeLeftovers(join(folder.path, 'missing'), nowMs)
  })

  it('names the error of the system', async () => {
    expect(errorCode(await fs.readFile(join(folder.path, 'no')).catch(e => e))).toBe('ENOENT')
    expect(errorCode('text')).toBe('')
  })

  it.skipIf(process.platform === 'win32')('survives being killed at any moment', async () => {
    // A process of its own rewrites the file again and again and is killed; what is left is one whole version.
    const url = new URL('../../main/store/atomic-write.ts', import.meta.url).href
    const script = `import { writeAtomically } from ${JSON.stringify(url)}
      for (let i = 0; ; i++) {
        await writeAtomically(${JSON.stringify(path)}, Buffer.from(String(i % 10).repeat(200_000)))
        if (i === 0) console.log('first one written')
      }`
    const file = join(folder.path, 'rewrite.mts')
    await fs.writeFile(file, script)
    for (const waitMs of [0, 3, 7]) {
      const child = spawn(process.execPath, ['--import', 'tsx', file], {
        stdio: ['ignore', 'pipe', 'inherit'],
      })
      await once(child.stdout, 'data')
      await new Promise(resolve => setTimeout(resolve, waitMs))
      child.kill('SIGKILL')
      await once(child, 'close')
      const text = await fs.readFile(path, 'utf8')
      expect(text.length).toBe(200_000)
      expect(text).toBe(text[0].repeat(200_000))
    }
  })
})
