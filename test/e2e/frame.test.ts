import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { openWorkbench, type Workbench } from '../support/browser.ts'
import { lacks } from '../support/tools.ts'

describe.skipIf(lacks('chromium'))('the frame of the window', () => {
  let workbench: Workbench
  let page: Page

  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 1024, height: 700 }, colorScheme: 'light', contrast: 'no-preference' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await page.getByRole('button', { name: 'Open the demo bench' }).waitFor()
  })
  afterAll(async () => workbench?.close())

  const theme = () => page.evaluate(() => document.documentElement.dataset.theme)
  const colours = () => page.getByRole('combobox', { name: 'Colours' })

  it('says that nothing is live, and names the views that exist once there is a bench', async () => {
    await page.getByRole('banner').getByText('Nothing live').waitFor()
    const views = page.getByRole('navigation', { name: 'Views' })
    expect(await views.getByRole('button').allTextContents()).toEqual([expect.stringContaining('Benches')])
    await page.getByRole('button', { name: 'Open the demo bench' }).click()
    await page.getByRole('grid', { name: 'What binds with what' }).waitFor()
    await page.getByRole('banner').getByText('Receiver: ').waitFor()
    expect(await views.getByRole('button', { name: /^Fleet/ }).getAttribute('aria-current')).toBe('page')
  })

  it('has a way past its head as the first stop of the Tab key', async () => {
    await page.reload()
    await page.getByRole('button', { name: 'Open the demo bench' }).waitFor()
    await page.keyboard.press('Tab')
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe('To the view')
    await page.keyboard.press('Enter')
    await page.keyboard.press('Tab')
    expect(await page.evaluate(() => document.activeElement?.closest('main')?.id)).toBe('view')
  })

  it('follows the colours of the system, and remembers a choice of one’s own', async () => {
    expect(await theme()).toBe('light')
    await page.emulateMedia({ colorScheme: 'dark' })
    await expect.poll(theme).toBe('dark')
    await page.emulateMedia({ contrast: 'more' })
    await expect.poll(theme).toBe('contrast')
    await page.emulateMedia({ contrast: 'no-preference', colorScheme: 'light' })
    await expect.poll(theme).toBe('light')

    const stored = () =>
      page.evaluate(() => getComputedStyle(document.documentElement).getPropertyValue('--ground').trim())
    await colours().selectOption('dark')
    await expect.poll(theme).toBe('dark')
    const dark = await stored()
    // At once, before anything would be written in its own time.
    await page.reload()
    await expect.poll(theme).toBe('dark')
    expect(await stored()).toBe(dark)
    expect(await colours().inputValue()).toBe('dark')
    await colours().selectOption('system')
    await expect.poll(theme).toBe('light')
  })

  it('is set in its own type, from its own files', async () => {
    const loaded = () =>
      page.evaluate(() =>
        [...document.fonts].filter(f => f.status === 'loaded').map(f => f.family.replaceAll('"', '')),
      )
    await expect.poll(loaded).toContain('Source Sans 3')
    expect(await page.evaluate(() => getComputedStyle(document.body).fontVariantNumeric)).toBe('tabular-nums')
  })

  it.each([
    [1024, 700],
    [1280, 800],
  ])('fits %i by %i without scrolling sideways, whatever the bench is called', async (width, height) => {
    await page.setViewportSize({ width, height })
    await page.reload()
    await page.getByRole('button', { name: 'Open the demo bench' }).click()
    await page.getByRole('button', { name: 'Everything on the bench' }).click()
    await page.getByRole('button', { name: 'Name and wiring' }).click()
    await page.getByRole('button', { name: 'Change', exact: true }).click()
    const dialog = page.getByRole('dialog')
    await dialog
      .getByRole('textbox', { name: /^Name/ })
      .fill('A bench with a very long name '.repeat(3).slice(0, 80))
    await dialog.getByRole('button', { name: 'Keep changes' }).click()
    await dialog.waitFor({ state: 'detached' })
    for (const view of [/^Fleet/, /^Firmware/, /^Rehearse/, /^Benches/]) {
      await page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name: view }).click()
      await expect
        .poll(() =>
          page.evaluate(() => {
            const all = [...document.querySelectorAll('.app-top, .app-edge, main')]
            return [document.documentElement, ...all]
              .filter(e => e.scrollWidth > e.clientWidth)
              .map(e => `${e.className}: ${e.scrollWidth} of ${e.clientWidth}`)
          }),
        )
        .toEqual([])
      expect(
        await page.getByRole('banner').getByRole('button', { name: 'Save', exact: true }).isVisible(),
      ).toBe(true)
    }
    // What was changed is not wanted any more.
    await page.getByRole('button', { name: 'Open the demo bench' }).click()
    await page.getByRole('button', { name: 'Go on without saving' }).click()
    await page.getByRole('heading', { name: 'Fleet', level: 1 }).waitFor()
  })

  it('runs without errors, policy violations or requests to anywhere else', () => {
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})
