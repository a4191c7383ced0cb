import type { Browser, Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { axeFinds } from '../support/axe.ts'
import { launchChromium } from '../support/browser.ts'
import { openStoryPage, type StoryPage } from '../support/story-page.ts'
import { lacks } from '../support/tools.ts'

describe.skipIf(lacks('chromium'))('the wiring panel', () => {
  let browser: Browser
  let story: StoryPage
  let page: Page

  beforeAll(async () => {
    story = await openStoryPage('test/support/wiring-page')
    browser = await launchChromium()
  })
  afterEach(async () => page?.context().close())
  afterAll(async () => {
    await browser?.close()
    await story?.close()
  })

  const open = async (query: string, width = 1280, height = 800) => {
    const context = await browser.newContext({ viewport: { width, height }, reducedMotion: 'reduce' })
    page = await context.newPage()
    page.setDefaultTimeout(20_000)
    await page.goto(`${story.url}?${query}`)
    await page.getByRole('status').waitFor()
  }
  const verdict = () => page.getByRole('status').textContent()
  const button = (name: string | RegExp) => page.getByRole('button', { name })

  it('refuses the cable with the supply swapped, and takes the good one when asked to', async () => {
    await open('cable=programmer-cable-swapped')
    expect(await verdict()).toContain('Leave the power off')
    const drawing = page.getByRole('img', { name: /Bench programmer on the left/ })
    expect(await drawing.getAttribute('aria-label')).toContain(
      '2 (VCC) to 3 (-): 5.0 V into the receiver, wrong',
    )
    expect(await button('Show pin 3').first().getAttribute('aria-pressed')).toBe('true')
    expect(await page.locator('.wi-pointed').count()).toBeGreaterThan(0)
    await button('Choose this').first().click()
    expect(await verdict()).toContain('safe as it is drawn')
    expect(await page.getByLabel('Cable', { exact: true }).locator('option:checked').textContent()).toBe(
      'Programmer cable',
    )
  })

  it('changes the bench where the person has re-pinned the cable, and takes it back', async () => {
    await open('cable=update-cable&feed=own-supply')
    expect(await verdict()).toContain('Leave the power off')
    await page
      .getByText(/^Re-pin this cable: GND to 3 \(-\), TXD through 1 kΩ to 1 \(S\), RXD to 1/)
      .waitFor()
    await button('I have done this').first().click()
    expect(await verdict()).toContain('safe as it is drawn')
    await button(/^Undo: Re-pin this cable/).click()
    expect(await verdict()).toContain('Leave the power off')
  })

  it('is worked by keyboard alone: choose, point out, cure', async () => {
    await open('cable=programmer-cable-tx-only')
    await page.getByLabel('Adapter', { exact: true }).focus()
    // The drawing is a stop of its own: where the window is narrow, it is moved sideways.
    for (let i = 0; i < 4; i++) await page.keyboard.press('Tab')
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe('Show pin 1')
    await page.keyboard.press('Enter')
    expect(await page.evaluate(() => document.activeElement?.getAttribute('aria-pressed'))).toBe('true')
    await page.keyboard.press('Tab')
    await page.keyboard.press('Enter')
    expect(await verdict()).toContain('safe as it is drawn')
  })

  it.each([
    ['light', 1280, 800],
    ['dark', 1280, 800],
    ['contrast', 1024, 700],
  ] as const)(
    'has nothing that axe finds, and nothing cut off: %s, %d wide',
    async (theme, width, height) => {
      await open(`cable=programmer-cable-swapped&feed=both&theme=${theme}`, width, height)
      expect(await axeFinds(page)).toEqual([])
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width)
      const outside = await page.evaluate(() => {
        const svg = document.querySelector('.wi-drawing')
        const box = svg?.getBoundingClientRect()
        if (!svg || !box) return ['no drawing']
        return [...svg.querySelectorAll('text')]
          .filter(t => {
            const r = t.getBoundingClientRect()
            return r.left < box.left - 1 || r.right > box.right + 1 || r.bottom > box.bottom + 1
          })
          .map(t => t.textContent)
      })
      expect(outside).toEqual([])
    },
  )
})
