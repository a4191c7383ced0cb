import { _electron, type ElectronApplication, type Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { projectRoot } from '../../main/scripts/build.mjs'
import { electronBinary, noWindowBecause } from '../../main/scripts/electron.mjs'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

const binary = electronBinary(projectRoot)
const cannot = noWindowBecause(process.env, process.platform, process.getuid?.())

// npm test says why this is left out where it is.
describe.skipIf(binary === undefined || cannot !== undefined)('the desktop window', () => {
  let folder: TestFolder
  let app: ElectronApplication
  let page: Page

  beforeAll(async () => {
    folder = testFolder('electron')
    app = await _electron.launch({ executablePath: binary, args: [projectRoot, '--', '--data', folder.path] })
    page = await app.firstWindow()
  })
  afterAll(async () => {
    await app?.close()
    folder?.remove()
  })

  it('shows the workbench from our own scheme', async () => {
    await page
      .getByText(/Preflash/)
      .first()
      .waitFor()
    expect(page.url()).toMatch(/^preflash:\/\/app\//)
  })

  it('has nothing of Node or Electron in the page, and only the bridge', async () => {
    const kinds = await page.evaluate(() => {
      const world = globalThis as unknown as Record<string, unknown>
      return ['require', 'process', 'module', 'Buffer', 'electron', 'ipcRenderer', 'preflash'].map(
        name => typeof world[name],
      )
    })
    expect(kinds).toEqual([
      'undefined',
      'undefined',
      'undefined',
      'undefined',
      'undefined',
      'undefined',
      'object',
    ])
  })

  it('opens no window and goes nowhere', async () => {
    expect(await page.evaluate(() => window.open('https://evil.example/'))).toBeNull()
    await page.evaluate(() => {
      location.href = 'https://evil.example/'
    })
    expect(page.url()).toMatch(/^preflash:\/\/app\//)
    expect(app.windows()).toHaveLength(1)
  })

  it('fetches nothing from outside', async () => {
    const fetched = await page.evaluate(() =>
      fetch('https://evil.example/').then(
        () => true,
        () => false,
      ),
    )
    expect(fetched).toBe(false)
  })
})
