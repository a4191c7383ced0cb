import type { Browser, Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { axeFinds } from '../support/axe.ts'
import { launchChromium } from '../support/browser.ts'
import { openStoryPage, type StoryPage } from '../support/story-page.ts'
import { lacks } from '../support/tools.ts'

describe.skipIf(lacks('chromium'))('where a write differs from its rehearsal', () => {
  let browser: Browser
  let story: StoryPage
  let page: Page

  beforeAll(async () => {
    story = await openStoryPage('test/support/program-page')
    browser = await launchChromium()
  })
  afterEach(async () => page?.context().close())
  afterAll(async () => {
    await browser?.close()
    await story?.close()
  })

  it.each([
    ['light', 1280, 800],
    ['dark', 1024, 700],
  ] as const)(
    'is told with its weight and leads to its place on the line: %s, %i by %i',
    async (theme, width, height) => {
      const context = await browser.newContext({ viewport: { width, height }, reducedMotion: 'reduce' })
      page = await context.newPage()
      page.setDefaultTimeout(20_000)
      await page.goto(`${story.url}?script=done&theme=${theme}`)
      const list = page.getByRole('list', { name: 'Where it differs from the rehearsal' })
      await list.waitFor()
      const said = await list.getByRole('listitem').allTextContents()
      expect(said).toHaveLength(4)
      expect(said[1]).toMatch(
        /^Look at thisIt says otherwise, .*Rehearsed: Firmware 2\.1\.0\. Seen: Firmware 2\.0\.4\./,
      )
      expect(said.map(text => /^(Note|Look at this|Expected)/.exec(text)?.[1])).toEqual([
        'Note',
        'Look at this',
        'Expected',
        'Note',
      ])
      await page.getByRole('button', { name: /^Show on the line: It says otherwise/ }).press('Enter')
      const head = page.getByRole('slider', { name: 'Play head' })
      const atMs = async () => Number(await head.getAttribute('aria-valuenow'))
      await page.getByRole('img', { name: '4 marks where it differs from the rehearsal' }).waitFor()
      const first = await atMs()
      expect(first).toBeGreaterThan(0)
      await page.getByRole('button', { name: /^Show on the line: Slower/ }).press('Enter')
      await expect.poll(atMs).toBeGreaterThan(first)
      expect(await axeFinds(page)).toEqual([])
    },
  )
})
