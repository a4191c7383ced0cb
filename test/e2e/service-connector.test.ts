import type { Page } from 'playwright-core'
import { describe, expect, it, onTestFinished } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import {
  button,
  choosePort,
  ended,
  goThrough,
  LONG_MS,
  openStep,
  toTheBench,
  write,
} from '../support/bench-steps.ts'
import { openWorkbench } from '../support/browser.ts'
import { needs, titled } from '../support/needs.ts'
import { lacks } from '../support/tools.ts'
import { playedReceiver } from '../support/write-desk.ts'
import { writePlan } from '../support/write-plan.ts'

/** The demo's receivers with a service connector, written in the window through a USB serial adapter. */

const bench = demoBench()
const wired = { adapterId: 'service-adapter', cableId: 'service-cable' }
const ketch = writePlan({
  ...{ bench, receiverId: 'dunlin-ketch', dialect: 'xmodem-1k', ...wired },
  image: { kind: 'bench', imageId: 'dunlin-5-1.4.0' },
})

async function openDemo(receiverId: string): Promise<Page> {
  const context = { viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' } as const
  const workbench = await openWorkbench({ context })
  onTestFinished(() => workbench.close())
  const { page } = workbench
  page.setDefaultTimeout(20_000)
  await button(page, 'Open the demo bench').click()
  await page.getByText('17 receivers').waitFor()
  await toTheBench(page)
  await page.getByLabel('Receiver', { exact: true }).selectOption(receiverId)
  await button(page, /^A programmer writes it/).click()
  return page
}

const choose = (page: Page, field: 'Adapter' | 'Cable', label: string) =>
  page.getByLabel(field, { exact: true }).selectOption({ label })

const imageList = (page: Page) => page.locator('.bn-plan-image select')
const speaks = (page: Page) => page.getByLabel('What the boot loader speaks')

/** The label is looked at where a receiver cannot say itself what it is. */
async function readTheLabel(page: Page, type: string): Promise<void> {
  await page.getByRole('radio', { name: type }).check()
}

describe.skipIf(lacks('chromium') || needs('socat') === undefined)(
  titled('a receiver with a service connector', 'socat'),
  () => {
    it('takes an image by XMODEM-1K, and runs it', { timeout: 4 * LONG_MS }, async () => {
      const played = await playedReceiver({ plan: ketch })
      const page = await openDemo('dunlin-ketch')
      await choosePort(page, played.path)
      await openStep(page, /The wiring/)
      await choose(page, 'Adapter', 'Bench programmer')
      await choose(page, 'Cable', 'Service cable')
      await page.getByText('The wiring is safe').waitFor()
      await openStep(page, /What is written, and how/)
      expect(await speaks(page).inputValue()).toBe('xmodem-1k')
      await imageList(page).selectOption('dunlin-5-1.4.0')
      await goThrough(page)
      await readTheLabel(page, 'Tamsin Dunlin 5')
      await write(page)
      await ended(page).waitFor({ timeout: 2 * LONG_MS })
      await expect.poll(() => played.emulation.held().firmware, { timeout: 20_000 }).toBe('1.4.0')
    })
  },
)
