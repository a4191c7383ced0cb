import { execFileSync } from 'node:child_process'
import { mkdir, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { readBounded, readUtf8 } from '../../main/store/read-file.ts'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

describe('reading files from outside', () => {
  let folder: TestFolder
  beforeEach(() => {
    folder = testFolder('read')
  })
  afterEach(() => folder.remove())
  const at = (name: string) => join(folder.path, name)
  const problem = (name: string, most = 100) =>
    readBounded(at(name), most).then(
      () => 'read',
      error => error.problem.code,
    )

  it('reads up to the limit and not an octet more', async () => {
    await writeFile(at('a'), Buffer.alloc(100, 7))
    expect(await readBounded(at('a'), 100)).toEqual(Buffer.alloc(100, 7))
    expect(await problem('a', 99)).toBe('file.too-large')
    await writeFile(at('big'), Buffer.alloc(600_000, 7))
    expect((await readBounded(at('big'), 600_000)).length).toBe(600_000)
  })

  it('says what is wrong with what it cannot read', async () => {
    await mkdir(at('folder'))
    expect(await problem('missing')).toBe('file.missing')
    expect(await problem('folder')).toBe('file.not-a-file')
  })

  it.skipIf(process.platform === 'win32')('does not wait for a pipe', async () => {
    execFileSync('mkfifo', [at('pipe')])
    expect(await problem('pipe')).toBe('file.not-a-file')
  })

  it('names the line that is not UTF-8', () => {
    const octets = Buffer.concat([Buffer.from('one\ntwo\nthr'), Buffer.of(0xff), Buffer.from('\nfour')])
    expect(() => readUtf8(octets, 'x')).toThrowError(
      expect.objectContaining({ problem: expect.objectContaining({ code: 'file.not-text', line: 3 }) }),
    )
  })

  it('leaves out the mark that some editors put before the text', () => {
    expect(readUtf8(Buffer.from('\ufeff{}'), 'x')).toBe('{}')
  })
})
