import { chmodSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { projectRoot } from '../../main/scripts/build.mjs'
import { findTool, installCommand, missingTools, TOOLS } from '../../main/scripts/tools.mjs'
import { testFolder } from '../support/folder.ts'
import { tool } from '../support/tools.ts'

describe('the programs that the tests need', () => {
  it('are found on the path, or by their own path', () => {
    const folder = testFolder('tools')
    const file = join(folder.path, 'a-tool')
    writeFileSync(file, '')
    chmodSync(file, 0o755)
    expect(findTool('a-tool', `/nowhere:${folder.path}`)).toBe(file)
    expect(findTool(file, '')).toBe(file)
    expect(findTool('a-tool', '/nowhere')).toBeUndefined()
    folder.remove()
    expect(findTool(file, '')).toBeUndefined()
  })

  it('are all missing on an empty machine, and named with what is left out without them', () => {
    const missing = missingTools(() => undefined)
    expect(missing).toEqual(TOOLS)
    for (const { for: what, package: name } of missing) expect(what && name).toBeTruthy()
  })

  it('are installed by one command', () => {
    expect(installCommand(TOOLS.slice(0, 2))).toBe(
      'apt-get install -y --no-install-recommends chromium socat',
    )
  })

  it('are the ones that CI installs', () => {
    const script = readFileSync(join(projectRoot, '.ci', 'run'), 'utf8')
    const listed = /packages=\(([^)]*)\)/.exec(script)?.[1].split(/\s+/).filter(Boolean)
    expect(listed?.sort()).toEqual(TOOLS.map(({ package: name }) => name).sort())
  })

  it('must be listed before a test may ask for them', () => {
    expect(() => tool('not-listed')).toThrow('tools.mjs')
  })
})
