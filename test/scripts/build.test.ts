import { mkdirSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { ensureBuilt, sourceDigest } from '../../main/scripts/build.mjs'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

describe('what a build is made from', () => {
  let folder: TestFolder
  const write = (name: string, text: string) => writeFileSync(join(folder.path, name), text)

  beforeEach(() => {
    folder = testFolder('build')
    mkdirSync(join(folder.path, 'shared', 'model'), { recursive: true })
    write('shared/model/a.ts', 'one')
    write('package.json', '{}')
  })
  afterEach(() => folder.remove())

  it('is the same as long as nothing changes, whatever the time of the files', () => {
    const before = sourceDigest(folder.path)
    write('shared/model/a.ts', 'one')
    expect(sourceDigest(folder.path)).toBe(before)
  })

  it.each([
    ['a file changes', () => write('shared/model/a.ts', 'two')],
    ['a file is added', () => write('shared/model/b.ts', '')],
    ['a file goes', () => rmSync(join(folder.path, 'shared/model/a.ts'))],
    ['a package changes', () => write('package.json', '{"a":1}')],
  ])('is another when %s', (_what, change) => {
    const before = sourceDigest(folder.path)
    change()
    expect(sourceDigest(folder.path)).not.toBe(before)
  })

  it('is not asked of tests and readme', () => {
    const before = sourceDigest(folder.path)
    mkdirSync(join(folder.path, 'test'))
    write('test/a.test.ts', '')
    write('README.md', '')
    expect(sourceDigest(folder.path)).toBe(before)
  })

  it('a build that fails says so and leaves the last good one', () => {
    mkdirSync(join(folder.path, 'out', 'main'), { recursive: true })
    write('out/main/host.js', 'last good one')
    const { ok, built } = ensureBuilt(folder.path)
    expect({ ok, built }).toEqual({ ok: false, built: true })
    expect(sourceDigest(join(folder.path))).toBeTruthy()
    expect(ensureBuilt(folder.path).ok).toBe(false)
  })
})
