import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { writeBench } from '../../shared/model/bench.ts'
import { startable } from '../../shared/sim/memory.ts'
import { axeFinds } from './axe.ts'
import { openWorkbench, type Workbench, type WorkbenchOptions } from './browser.ts'
import { type TestFolder, testFolder } from './folder.ts'
import { smallBench } from './small-bench.ts'
import type { PlayedReceiver } from './write-desk.ts'

/** The way to a write through a programmer, walked in a browser. */

/** Long enough for a machine that does something else at the same time. */
export const LONG_MS = 60_000
export const NEW = { major: 2, minor: 4, patch: 0 }

export const button = (page: Page, name: string | RegExp) =>
  page.getByRole('button', { name, exact: typeof name === 'string' })
export const live = (page: Page) => page.locator('.live-band')
export const lanes = (page: Page) => page.locator('.pg-lane')
export const ended = (page: Page) => page.locator('.pg-end')

export const axe = async (page: Page) => {
  return axeFinds(page)
}
/** What is wider than its place. */
export const cutOff = (page: Page) =>
  page.evaluate(() =>
    [document.documentElement, ...document.querySelectorAll('main, .bn, .pg, .pg-step, .pg-lane, .pg-editor')]
      .filter(e => e.scrollWidth > e.clientWidth + 1)
      .map(e => `${e.className || e.tagName} is too wide`),
  )

/** Types a port in and chooses it. */
export async function choosePort(page: Page, path: string): Promise<void> {
  const row = page.getByRole('radio', { name: new RegExp(path) })
  if ((await row.count()) === 0) {
    const field = page.getByLabel('Server and its port, or a path')
    if (!(await field.isVisible())) await page.getByText('A serial server, or a path').click()
    await field.fill(path)
    await button(page, 'Add').click()
  }
  await row.check()
}

/** What a person answers who has looked, and all is as the plan says. */
export async function lookAtTheTable(page: Page): Promise<void> {
  for (const name of [
    /through its cable, and nothing else/,
    /^Nothing: the shaft is bare|^Servos, and no motor/,
    /^Nobody and nothing/,
  ])
    if ((await page.getByRole('radio', { name }).count()) > 0) await page.getByRole('radio', { name }).check()
}

export async function write(page: Page): Promise<void> {
  await button(page, /^Write to .* through/).click()
  await live(page).getByText('Live:').waitFor()
}

export const holdsNew = ({ emulation }: PlayedReceiver) => startable(emulation.memory)?.version

export interface OpenedBench {
  readonly bench: Workbench
  readonly page: Page
  readonly folder: TestFolder
  close(): Promise<void>
}

/** The small bench in the Bench view, at the programmer's side, with the trainer's receiver chosen. */
export async function openProgrammer(options: WorkbenchOptions = {}): Promise<OpenedBench> {
  const folder = testFolder('bench-file')
  const benchFile = join(folder.path, 'small.preflash.json')
  writeFileSync(benchFile, writeBench(smallBench()))
  const context = { viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' } as const
  const bench = await openWorkbench({ benchFile, ...options, context: { ...context, ...options.context } })
  const { page } = bench
  page.setDefaultTimeout(15_000)
  await page.getByText(smallBench().name).first().waitFor()
  await toTheBench(page)
  await page.getByLabel('Receiver', { exact: true }).selectOption('wren-trainer')
  await button(page, /^A programmer writes it/).click()
  return {
    ...{ bench, page, folder },
    close: async () => {
      await bench.close()
      folder.remove()
    },
  }
}

export const toTheBench = (page: Page) =>
  page
    .getByRole('navigation', { name: 'Views' })
    .getByRole('button', { name: /^Bench\b(?!es)/ })
    .click()

/** Port, wiring and dialect as they should be, up to the rehearsal. */
export async function setUp(page: Page, path: string): Promise<void> {
  await openStep(page, /The port/)
  await choosePort(page, path)
  await openStep(page, /The wiring/)
  await page.getByLabel('Adapter', { exact: true }).selectOption({ label: 'Bench programmer' })
  await page.getByLabel('Cable', { exact: true }).selectOption({ label: 'Programmer cable' })
  await openStep(page, /What is written, and how/)
  await page.getByLabel('What the boot loader speaks').selectOption('preflash-bus')
}

export async function openStep(page: Page, name: RegExp): Promise<void> {
  const head = page.locator('.pg-step').getByRole('button', { name }).first()
  if ((await head.getAttribute('aria-expanded')) !== 'true') await head.click()
}

/** From wherever it is to the answers of the last step; what was chosen before stands. */
export async function goThrough(page: Page): Promise<void> {
  await openStep(page, /Rehearsed and checked/)
  // Until it was checked nobody knows whether this plan was rehearsed before.
  await page.getByRole('list', { name: 'What must hold' }).waitFor()
  await button(page, /^Rehearse (this write|it again)/).waitFor()
  if ((await button(page, 'Rehearse this write').count()) > 0)
    await button(page, 'Rehearse this write').click()
  await button(page, 'Next step').click()
  await page.locator('.pg-question').first().waitFor()
  await lookAtTheTable(page)
}
