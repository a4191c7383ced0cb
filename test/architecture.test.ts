import { execFileSync } from 'node:child_process'
import { existsSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { projectRoot } from '../main/scripts/build.mjs'
import { readModule, readModules } from './support/modules.ts'

/** Packages that shared/ may use: pure, without Node or DOM. */
const PURE_PACKAGES = /^(zod|semver|pure-rand|@noble\/(hashes|curves))(\/|$)/

/**
 * Files of shared/ that no test imports yet. The list only ever gets shorter: a new file comes with its test.
 */
const NOT_YET_TESTED: readonly string[] = []

const shared = readModules('shared')
const main = readModules('main')
const renderer = readModules('renderer')

/** Every import that a rule forbids, as `file -> import`; the rules expect none. */
function breaking(modules: typeof shared, forbidden: (imported: string) => boolean): string[] {
  return modules.flatMap(({ path, imports }) =>
    imports.filter(forbidden).map(imported => `${path} -> ${imported}`),
  )
}
const within =
  (...folders: string[]) =>
  (imported: string) =>
    folders.some(folder => imported.startsWith(folder))

describe('imports', () => {
  it('are there to be looked at', () => {
    expect(shared.length).toBeGreaterThan(5)
    expect(main.length).toBeGreaterThan(5)
    expect(renderer.length).toBeGreaterThan(1)
  })

  it('of shared/ stay within shared/ and pure packages', () => {
    expect(
      breaking(shared, imported => !within('shared/')(imported) && !PURE_PACKAGES.test(imported)),
    ).toEqual([])
  })

  it('of shared/model stay within it', () => {
    const model = shared.filter(({ path }) => path.startsWith('shared/model/'))
    expect(
      breaking(model, imported => imported.startsWith('shared/') && !within('shared/model/')(imported)),
    ).toEqual([])
  })

  it('of main/ never reach the renderer', () => {
    expect(breaking(main, within('renderer/'))).toEqual([])
  })

  it('of the renderer reach only itself, shared/, and packages for the page', () => {
    const machine = (imported: string) =>
      /^(node:|electron|ws$|serialport|@serialport|fs$|path$|os$)/.test(imported)
    expect(breaking(renderer, imported => within('main/', 'test/')(imported) || machine(imported))).toEqual(
      [],
    )
  })

  it('of electron are in main/shell alone, even for types', () => {
    const elsewhere = [...shared, ...main, ...renderer].filter(({ path }) => !path.startsWith('main/shell/'))
    expect(breaking(elsewhere, imported => /^electron(\/|$)/.test(imported))).toEqual([])
  })

  it('of tests never get into the program', () => {
    expect(breaking([...shared, ...main, ...renderer], within('test/'))).toEqual([])
  })
})

describe('shared/', () => {
  it('has no clock and no chance of its own', () => {
    expect(shared.flatMap(({ path, impurities }) => impurities.map(use => `${path}: ${use}`))).toEqual([])
  })

  it('knows neither Node nor DOM nor Electron, which its own type check proves', () => {
    const tsc = join(projectRoot, 'node_modules', 'typescript', 'bin', 'tsc')
    const settings = execFileSync(process.execPath, [tsc, '-p', 'shared', '--showConfig'], {
      cwd: projectRoot,
      encoding: 'utf8',
    })
    const { compilerOptions } = JSON.parse(settings)
    expect(compilerOptions.types).toEqual([])
    expect(compilerOptions.lib.map((lib: string) => lib.toLowerCase())).toEqual(['es2023'])
  })

  it('has a test for every file that does anything', () => {
    const tested = new Set(readModules('test').flatMap(({ imports }) => imports))
    const untested = shared.filter(({ path, exportsValues }) => exportsValues && !tested.has(path))
    const missing = untested.map(({ path }) => path).filter(path => !NOT_YET_TESTED.includes(path))
    expect(missing).toEqual([])
  })

  it('makes exceptions only for files that exist', () => {
    expect(NOT_YET_TESTED.filter(path => !existsSync(join(projectRoot, path)))).toEqual([])
  })
})

it('sources lie in main/, renderer/, shared/ and test/ alone', () => {
  const folders = readdirSync(projectRoot, { withFileTypes: true })
    .filter(entry => entry.isDirectory() && !entry.name.startsWith('.'))
    .map(({ name }) => name)
  const generated = ['node_modules', 'out', 'test-results', 'coverage']
  const ours = ['docs', 'main', 'renderer', 'shared', 'test']
  expect(folders.filter(name => !generated.includes(name) && !ours.includes(name))).toEqual([])
})

describe('the reading of modules', () => {
  it('sees every way to import', () => {
    const text = [
      "import type { A } from 'a'",
      "import './b.ts'",
      "import { type C } from '../c.ts'",
      "export * from 'd'",
      "export type { E } from 'e'",
      "const f = await import('f')",
      "let g: import('g').G",
      "const h = require('h')",
    ].join('\n')
    const { imports } = readModule('shared/x/y.ts', text)
    expect([...imports].sort()).toEqual(['a', 'd', 'e', 'f', 'g', 'h', 'shared/c.ts', 'shared/x/b.ts'])
  })

  it.each([
    'Math.random()',
    'Date.now()',
    'new Date()',
    'Date()',
    'performance.now()',
    'crypto.getRandomValues(b)',
    "Math['random']()",
    'const { random } = Math',
    'const M = Math',
  ])('sees the impurity of %s', text => {
    expect(readModule('a.ts', text).impurities).not.toEqual([])
  })

  it.each(['Math.max(1, 2)', 'new Date(0)', '// Math.random()', "'Date.now()'", 'const now = at.now()'])(
    'sees none in %s',
    text => expect(readModule('a.ts', text).impurities).toEqual([]),
  )

  it('tells types from values among the exports', () => {
    expect(readModule('a.ts', 'export interface A {}\nexport type B = 1').exportsValues).toBe(false)
    expect(readModule('a.ts', 'export const a = 1').exportsValues).toBe(true)
    expect(readModule('a.ts', 'export function f() {}').exportsValues).toBe(true)
  })
})
