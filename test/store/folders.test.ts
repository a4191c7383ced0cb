import { mkdirSync, symlinkSync, writeFileSync } from 'node:fs'
import { homedir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { checkFolder, listFolder } from '../../main/store/folders.ts'
import { walkFolder } from '../../main/store/walk-folder.ts'
import { testFolder } from '../support/folder.ts'

let folder: ReturnType<typeof testFolder>
beforeEach(() => {
  folder = testFolder('folders')
  for (const name of ['data/library', 'b/c', 'a', '.hidden'])
    mkdirSync(join(folder.path, name), { recursive: true })
  writeFileSync(join(folder.path, 'wren.hex'), 'x')
})
afterEach(() => folder.remove())
const at = (...parts: string[]) => join(folder.path, ...parts)
const code = (path: string) =>
  checkFolder(path, at('data')).then(
    () => 'fine',
    error => error.problem.code,
  )

describe('folders to choose from', () => {
  it('lists the folders in one, hidden ones left out, and the way up', async () => {
    expect(await listFolder(folder.path, at('data'))).toEqual({
      path: folder.path,
      parent: join(folder.path, '..'),
      folders: ['a', 'b', 'data'],
      more: 0,
      files: 1,
    })
    expect((await listFolder(undefined, at('data'))).path).toBe(homedir())
  })

  it('says why a folder cannot be watched', async () => {
    expect(await code(at('b'))).toBe('fine')
    expect(await code(at('data'))).toBe('watch.own')
    expect(await code(at('data/library'))).toBe('watch.own')
    expect(await code(at('nowhere'))).toBe('watch.no-folder')
    expect(await code(at('wren.hex'))).toBe('watch.no-folder')
    expect(await code('b')).toBe('watch.not-absolute')
    expect(await code(`${at('b')}\0`)).toBe('watch.not-absolute')
    expect(await code('/')).toBe('watch.whole-disk')
    expect(await listFolder('/', at('data'))).toMatchObject({
      parent: null,
      problem: { code: 'watch.whole-disk' },
    })
    symlinkSync(at('data'), at('link'))
    expect(await code(at('link'))).toBe('watch.own')
  })
})

describe('walking through a folder', () => {
  it('finds files below it, and follows no links', async () => {
    writeFileSync(at('b/c/two.hex'), 'xy')
    writeFileSync(at('b/.hidden'), '')
    symlinkSync(at('b'), at('a/round'))
    symlinkSync(at('wren.hex'), at('a/wren.hex'))
    const { files, bounds } = await walkFolder(folder.path, path => path === at('data'))
    expect(files.map(f => [f.name, f.bytes])).toEqual([
      ['b/c/two.hex', 2],
      ['wren.hex', 1],
    ])
    expect(bounds).toBeUndefined()
  })

  it('says which bounds it keeps to', async () => {
    mkdirSync(at('a/1/2/3/4/5/6'), { recursive: true })
    writeFileSync(at('a/1/2/3/4/5/6/deep.hex'), '')
    expect(await walkFolder(at('a'))).toEqual({ files: [], bounds: 'Folders more than 6 deep are left out.' })
    for (let n = 0; n < 2001; n++) writeFileSync(at('b', `${n}`), '')
    const { files, bounds } = await walkFolder(at('b'))
    expect(files).toHaveLength(2000)
    expect(bounds).toBe('Only the first 2,000 files are looked at.')
  })
})
