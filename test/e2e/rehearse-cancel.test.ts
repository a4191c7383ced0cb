import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { projectRoot } from '../../main/scripts/build.mjs'
import { WorkerPool } from '../../main/work/pool.ts'
import { SIMULATING } from '../../main/work/pool-words.ts'
import { simulateAside } from '../../main/work/simulate.ts'
import type { SimulationTask } from '../../main/work/simulations.ts'
import { sourceScript } from '../../main/work/worker-script.ts'
import { axeFinds } from '../support/axe.ts'
import { openWorkbench, type Workbench } from '../support/browser.ts'
import { startCardHost } from '../support/card-host.ts'
import { button, openRehearsal, rehearse } from '../support/rehearse-page.ts'
import { SLOW_SEED } from '../support/slow-seed.ts'
import { lacks } from '../support/tools.ts'

const card = (page: Page) => page.getByRole('region', { name: /^(Rehearsing|Cancelling)…$/ })
const seed = (page: Page) => page.getByRole('textbox', { name: /^Seed/ })
const form = (page: Page) => page.getByRole('form', { name: 'Set up the rehearsal' })

/** Asks for one that takes minutes, and waits until the view says how far it is. */
async function askForSlow(page: Page, name: string): Promise<void> {
  await seed(page).fill(String(SLOW_SEED))
  await button(page, name).click()
  await card(page).getByText('Simulated so far').waitFor()
}

describe.skipIf(lacks('chromium'))('a rehearsal that takes long', () => {
  let workbench: Workbench
  let page: Page
  let pool: WorkerPool<SimulationTask>

  beforeAll(async () => {
    const script = sourceScript(join(projectRoot, 'test', 'support', 'slow-simulator.ts'))
    pool = new WorkerPool<SimulationTask>({ script, size: 1, graceMs: 20_000, words: SIMULATING })
    const host = await startCardHost({}, { simulate: simulateAside(pool) })
    workbench = await openWorkbench({ host, context: { viewport: { width: 1024, height: 700 } } })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await openRehearsal(page)
  })
  afterAll(async () => {
    await workbench?.close()
    pool?.close()
  })

  it('says what is being done and how far it is, and axe finds nothing', async () => {
    await askForSlow(page, 'Rehearse')
    const text = (await card(page).textContent()) ?? ''
    expect(text).toMatch(/The update: [A-Z]/)
    expect(text).toMatch(/This step(\d+ % done|under way)/)
    expect(await axeFinds(page)).toEqual([])
    // The focus was on the button that cannot be pressed meanwhile.
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe('Cancel Esc')
  })

  it('is cancelled by Escape: back at the set-up, which is as it was, and it says so', async () => {
    await page.keyboard.press('Escape')
    await form(page)
      .getByText(/^Cancelled: the rehearsal was stopped/)
      .waitFor()
    expect(await card(page).count()).toBe(0)
    expect(await seed(page).inputValue()).toBe(String(SLOW_SEED))
    await page.waitForFunction(() => document.activeElement?.textContent === 'Rehearse')
  })

  it('leaves nothing in the way of the next one', async () => {
    await seed(page).fill('1')
    expect(
      await form(page)
        .getByText(/^Cancelled/)
        .count(),
    ).toBe(0)
    await rehearse(page)
    expect(await card(page).count()).toBe(0)
  })

  it('leaves the rehearsal before it on the screen, and the seed as it was', async () => {
    await page.getByRole('button', { name: 'Set-up', exact: true }).click()
    await seed(page).fill(String(SLOW_SEED - 1))
    await page.keyboard.press('End')
    await page.getByRole('tab', { name: 'Outcome' }).click()
    await button(page, 'Rehearse with another seed').click()
    await card(page)
      .getByRole('button', { name: /^Cancel/ })
      .click()
    await form(page)
      .getByText(/the rehearsal before it is still shown/)
      .waitFor()
    expect(await seed(page).inputValue()).toBe(String(SLOW_SEED - 1))
    expect(await page.getByRole('article', { name: 'Outcome of the rehearsal' }).textContent()).toContain(
      'Updated',
    )
    expect(await axeFinds(page)).toEqual([])
  })

  it('makes room for another one that is asked for meanwhile', async () => {
    await askForSlow(page, 'Rehearse again')
    await page.getByRole('button', { name: 'Set-up', exact: true }).click()
    await seed(page).fill('2')
    await page.keyboard.press('Control+Enter')
    await page.getByText('by cable, 2', { exact: true }).waitFor({ state: 'attached' })
    expect(await card(page).count()).toBe(0)
  })

  it('ran without errors, policy violations or requests to anywhere else', () => {
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})
