import { chmodSync, mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { electronBinary, noWindowBecause, runElectron } from '../../main/scripts/electron.mjs'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

let folder: TestFolder
beforeEach(() => {
  folder = testFolder('electron')
})
afterEach(() => folder.remove())

describe('electronBinary', () => {
  const home = () => join(folder.path, 'node_modules', 'electron')

  it('is there once it has been fetched', () => {
    mkdirSync(join(home(), 'dist'), { recursive: true })
    writeFileSync(join(home(), 'path.txt'), 'electron')
    expect(electronBinary(folder.path, {})).toBeUndefined()
    writeFileSync(join(home(), 'dist', 'electron'), '')
    expect(electronBinary(folder.path, {})).toBe(join(home(), 'dist', 'electron'))
  })

  it('is not there on a fresh machine', () => expect(electronBinary(folder.path, {})).toBeUndefined())

  it('may lie elsewhere', () => {
    writeFileSync(join(folder.path, 'electron'), '')
    const env = { ELECTRON_OVERRIDE_DIST_PATH: folder.path }
    expect(electronBinary(folder.path, env)).toBe(join(folder.path, 'electron'))
    expect(electronBinary(folder.path, { ELECTRON_OVERRIDE_DIST_PATH: '/nowhere' })).toBeUndefined()
  })
})

describe('noWindowBecause', () => {
  it('finds nothing in the way on a desktop', () => {
    expect(noWindowBecause({ DISPLAY: ':0' }, 'linux', 1_000)).toBeUndefined()
    expect(noWindowBecause({ WAYLAND_DISPLAY: 'wayland-0' }, 'linux', 1_000)).toBeUndefined()
    expect(noWindowBecause({}, 'darwin', 501)).toBeUndefined()
    expect(noWindowBecause({}, 'win32', undefined)).toBeUndefined()
  })

  it('says that there is no display', () =>
    expect(noWindowBecause({}, 'linux', 1_000)).toContain('no display'))

  it('does not give up the sandbox for root', () => {
    expect(noWindowBecause({ DISPLAY: ':0' }, 'linux', 0)).toContain('root')
  })
})

describe('runElectron', () => {
  function program(text: string): string {
    const file = join(folder.path, 'program')
    writeFileSync(file, `#!${process.execPath}\n${text}`)
    chmodSync(file, 0o755)
    return file
  }

  it('tells a window that was there from one that never came', async () => {
    const shown = program("process.send('ready', () => process.exit(3))")
    expect(await runElectron(shown, folder.path, [])).toEqual({ ready: true, code: 3 })
    expect(await runElectron(program('process.exit(1)'), folder.path, [])).toEqual({ ready: false, code: 1 })
  })

  it('hands the arguments over behind a mark, and adds no switch that weakens the sandbox', async () => {
    const echo = program(
      `const ok = JSON.stringify(process.argv.slice(2)) === ${JSON.stringify(JSON.stringify([folder.path, '--', 'a.json']))}\n` +
        'process.exit(ok ? 0 : 9)',
    )
    expect(await runElectron(echo, folder.path, ['a.json'])).toEqual({ ready: false, code: 0 })
  })

  it('takes a binary that cannot be started for one that never came', async () => {
    expect(await runElectron(join(folder.path, 'none'), folder.path, [])).toEqual({ ready: false, code: 1 })
  })
})
