import { readFileSync } from 'node:fs'
import type { Page } from 'playwright-core'
import { describe, expect, it, onTestFinished } from 'vitest'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import { typeOfReceiver } from '../../shared/bench-run/spoken.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import {
  axe,
  button,
  choosePort,
  cutOff,
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
const soarer = writePlan({
  ...{ bench, receiverId: 'plover-soarer', dialect: 'st-an3155', ...wired },
  image: { kind: 'bench', imageId: 'plover-10-2.3.0' },
})
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

/** All of program flash with the image of the plan in it, and nothing else. */
function flashWith({ receiverId, image }: WritePlan): Uint8Array {
  const type = typeOfReceiver(bench, receiverId)
  const made = type && image.kind === 'bench' && benchImage(bench, type, image.imageId)
  if (!type || !made || made.ok === false) throw new Error('the demo does not have that gear')
  const whole = new Uint8Array(type.flash.programBytes).fill(0xff)
  whole.set(made.value.payload)
  return whole
}

/** The label is looked at where a receiver cannot say itself what it is. */
async function readTheLabel(page: Page, type: string): Promise<void> {
  await page.getByRole('radio', { name: type }).check()
}

describe.skipIf(lacks('chromium') || needs('socat') === undefined)(
  titled('a receiver with a service connector', 'socat'),
  () => {
    it('is wired, backed up, written and verified by ST AN3155', { timeout: 4 * LONG_MS }, async () => {
      const played = await playedReceiver({ plan: soarer })
      const before = played.emulation.memory.program.octets.slice()
      const page = await openDemo('plover-soarer')
      await choosePort(page, played.path)
      await openStep(page, /The wiring/)
      await choose(page, 'Adapter', 'Service adapter, 3.3 V')
      await choose(page, 'Cable', 'Home-made service cable, RX and TX mixed up')
      await page
        .getByText(/both ends send on this wire/)
        .first()
        .waitFor()
      const cures = page.locator('.wi-cure').filter({ hasText: 'Take the cable “Service cable” instead.' })
      await cures.getByRole('button').first().click()
      await page.getByText('The wiring is safe').waitFor()
      await choose(page, 'Adapter', 'Old adapter with 5 V signals')
      await page
        .getByText(/stands 3\.6 V at most/)
        .first()
        .waitFor()
      expect(await axe(page)).toEqual([])
      await choose(page, 'Adapter', 'Service adapter, 3.3 V')
      await page.getByText('The wiring is safe').waitFor()

      await openStep(page, /What is written, and how/)
      expect(await speaks(page).inputValue()).toBe('st-an3155')
      await page.getByText(/^The Plover 10 speaks “ST AN3155/).waitFor()
      await imageList(page).selectOption('plover-10-2.3.0')
      await speaks(page).selectOption('ymodem')
      await page.getByText(/“YMODEM” is not among them/).waitFor()
      expect(await axe(page)).toEqual([])
      await speaks(page).selectOption('st-an3155')
      await goThrough(page)
      await readTheLabel(page, 'Aldwick Plover 10')
      await write(page)
      await ended(page).waitFor({ timeout: 2 * LONG_MS })
      expect(await cutOff(page)).toEqual([])
      expect(await axe(page)).toEqual([])
      await ended(page).getByText('Every octet was read back and compared.').waitFor()
      const backup = (await ended(page).locator('.mono').first().textContent()) ?? ''
      expect(Buffer.compare(readFileSync(backup), before)).toBe(0)
      const { octets } = played.emulation.memory.program
      expect(Buffer.compare(octets, flashWith(soarer))).toBe(0)
    })

    it('takes an image by XMODEM-1K, and runs it', { timeout: 4 * LONG_MS }, async () => {
      const played = await playedReceiver({ plan: ketch })
      const page = await openDemo('dunlin-ketch')
      await choosePort(page, played.path)
      // Before there is any wiring to check, a dialect that its type does not speak is called wrong all the same.
      await openStep(page, /What is written, and how/)
      await speaks(page).selectOption('st-an3155')
      await page
        .getByRole('alert')
        .getByText(/AN3155.* is not among them/)
        .waitFor()
      await speaks(page).selectOption('xmodem-1k')
      await expect.poll(() => page.getByRole('alert').count()).toBe(0)
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
