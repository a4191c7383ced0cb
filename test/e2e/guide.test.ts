import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { SETTLE_MS } from '../../renderer/bench/guide/keys.ts'
import { axeFinds } from '../support/axe.ts'
import { openWorkbench, type Workbench } from '../support/browser.ts'
import { lacks } from '../support/tools.ts'

const view = (page: Page, name: RegExp) =>
  page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name })
const button = (page: Page, name: string | RegExp) =>
  page.getByRole('button', { name, exact: typeof name === 'string' })
const step = (page: Page) => page.locator('#gd-step')
const part = (page: Page) => page.locator('.gd-part')
const live = (page: Page) => page.locator('.live-band')

/** One key, once the step has settled; waits until another step is there. */
async function press(page: Page, key: string): Promise<string> {
  const before = `${await part(page).textContent()} ${await step(page).textContent()}`
  await page.waitForTimeout(SETTLE_MS + 50)
  await page.keyboard.press(key)
  await expect
    .poll(async () => `${await part(page).textContent()} ${await step(page).textContent()}`)
    .not.toBe(before)
  return (await step(page).textContent()) ?? ''
}

/** One click on a big button, once the step has settled. */
async function pressBig(page: Page, name: string): Promise<void> {
  await page.waitForTimeout(SETTLE_MS + 50)
  await button(page, name).click()
}

/** Sees what should be seen, by the one key, until this step is on the screen. */
async function sawUntil(page: Page, text: RegExp): Promise<void> {
  for (let i = 0; i < 30; i++) {
    if (text.test((await step(page).textContent()) ?? '')) return
    await press(page, 'Space')
  }
  throw new Error(`there is no step ${text}`)
}

async function openDemo(page: Page): Promise<void> {
  await button(page, 'Open the demo bench').click()
  await view(page, /^Bench\b(?!es)/).click()
  await page.getByRole('heading', { name: 'Bench', level: 1 }).waitFor()
}

async function begin(page: Page): Promise<void> {
  await button(page, 'Rehearse it now').click()
  await button(page, 'Begin the guided run').click()
  await step(page).waitFor()
}

const axe = async (page: Page) => {
  return axeFinds(page)
}
/** What is wider than its place, or cannot be reached by scrolling. */
const cutOff = (page: Page) =>
  page.evaluate(() => {
    const wide = [
      document.documentElement,
      ...document.querySelectorAll('main, .gd, .gd-words, .gd-acts, .bn'),
    ]
      .filter(e => e.scrollWidth > e.clientWidth + 1)
      .map(e => `${e.className || e.tagName} is too wide`)
    const acts = document.querySelector('.gd-acts')?.getBoundingClientRect()
    return acts && acts.bottom > innerHeight + 1 ? [...wide, 'the answers are below the window'] : wide
  })

describe.skipIf(lacks('chromium'))('a guided run by one key', () => {
  let workbench: Workbench
  let page: Page

  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await openDemo(page)
  })
  afterAll(async () => workbench?.close())

  it('cannot begin before this very plan has been rehearsed', async () => {
    await page.getByRole('heading', { name: 'This has not been rehearsed yet' }).waitFor()
    expect(await button(page, 'Begin the guided run').count()).toBe(0)
    await button(page, 'Rehearse it now').click()
    await button(page, 'Begin the guided run').waitFor()
    await page.getByRole('radio', { name: 'By air' }).check()
    await page.getByRole('heading', { name: 'Since it was rehearsed, something has changed' }).waitFor()
    await page.getByRole('radio', { name: 'By cable' }).check()
    await button(page, 'Begin the guided run').waitFor()
    await view(page, /^Rehearse/).click()
    await button(page, 'Play').waitFor()
    await page.keyboard.press('End')
    await button(page, 'Do it for real, on the bench').click()
    await button(page, 'Begin the guided run').waitFor()
    expect(await page.locator('.gd-start').textContent()).toMatch(/writes for about 57 seconds/)
  })

  it('leads through a first write that failed and a second that works, and tells when it is live', async () => {
    await page.evaluate(() => {
      const asked: string[] = []
      Object.assign(globalThis, { wakeLocks: asked })
      navigator.wakeLock.request = kind => {
        asked.push(kind ?? '')
        return Promise.reject(new DOMException('not allowed', 'NotAllowedError'))
      }
    })
    await button(page, 'Begin the guided run').click()
    await step(page).filter({ hasText: 'take the propeller or rotor off' }).waitFor()
    expect(await live(page).textContent()).toBe('')
    await page.waitForTimeout(SETTLE_MS + 50)
    await page.keyboard.press('u')
    await page.getByText('A switch that is off is not enough').waitFor()
    await press(page, 'Space')
    await press(page, 'b')
    await step(page).filter({ hasText: 'propeller' }).waitFor()
    await page.waitForTimeout(SETTLE_MS + 50)
    await button(page, 'Saw it').dblclick()
    await part(page).filter({ hasText: 'Step 2 of' }).waitFor()
    await page.waitForTimeout(SETTLE_MS + 50)
    await button(page, 'Something else').dblclick()
    await part(page).filter({ hasText: 'Something else was seen' }).waitFor()
    await press(page, 'b')
    await press(page, 'b')
    expect(await page.locator('.app-live').textContent()).toBe('Nothing live: nothing is being written')
    expect(await page.evaluate(() => (globalThis as { wakeLocks?: string[] }).wakeLocks)).toEqual(['screen'])
    await sawUntil(page, /Put the card into the computer/)
    await button(page, 'To the Firmware view').click()
    await page.getByRole('region', { name: 'The guided run' }).getByText('waits at step 5 of 17').waitFor()
    await button(page, 'Back to the run').click()
    await step(page).filter({ hasText: 'Put the card into the computer' }).waitFor()
    await sawUntil(page, /Let the radio write/)
    expect(await live(page).textContent()).toBe('Live: the radio is writing to Wren in the club trainer')
    expect(await page.locator('.gd-phases li').allTextContents()).toContainEqual(
      expect.stringMatching(/^Write\d+ seconds$/),
    )
    await page
      .locator('.gd-time')
      .getByText(/left of 56 seconds, as rehearsed/)
      .waitFor()
    expect(await press(page, 'e')).toBe('What do you see instead?')
    expect(await press(page, '1')).toMatch(/The first write has failed. That is common/)
    expect(await part(page).textContent()).toBe('Step 11 of 22 · Second attempt')
    expect(await live(page).textContent()).toBe('')
    await sawUntil(page, /Let the radio write/)
    expect(await part(page).textContent()).toContain('Second attempt')
    await press(page, 'Space')
    await step(page).filter({ hasText: 'which firmware the receiver runs now' }).waitFor()
  })

  it('is kept while other views are shown', async () => {
    await view(page, /^Fleet/).click()
    await page.getByRole('heading', { name: 'Fleet', level: 1 }).waitFor()
    await view(page, /^Bench\b(?!es)/).click()
    await step(page).filter({ hasText: 'which firmware the receiver runs now' }).waitFor()
  })

  it('ends, and puts what was seen onto the bench, to be undone', async () => {
    await sawUntil(page, /is updated, and everything has been checked/)
    expect(await page.getByLabel('The version that you saw').inputValue()).toBe('2.4.0')
    await page.getByLabel('The version that you saw').fill('2.4')
    await button(page, 'Write it on the bench').click()
    await page.getByText('Three numbers with dots').waitFor()
    await page.getByLabel('The version that you saw').fill('2.4.0')
    await button(page, 'Write it on the bench').click()
    await page.getByText('The bench says so now').waitFor()
    expect(await page.title()).toContain('•')
    await pressBig(page, 'Close the run')
    await page.getByRole('heading', { name: 'Since it was rehearsed, something has changed' }).waitFor()
    await button(page, 'Undo').click()
    await button(page, 'Begin the guided run').waitFor()
  })

  it('leads into the diagnosis with what is known, and back to the same place', async () => {
    await button(page, 'Begin the guided run').click()
    await step(page).waitFor()
    await sawUntil(page, /Let the radio write/)
    await press(page, 'e')
    expect(await press(page, '3')).toBe('It was refused before anything was written.')
    await page.waitForTimeout(SETTLE_MS + 50)
    await page.keyboard.press('Space')
    await page.getByRole('heading', { name: 'Diagnose', level: 1 }).waitFor()
    await page.locator('.dg-symptom').getByText('Writing is refused at the first block').waitFor()
    const known = page.getByRole('region', { name: 'What is known' })
    const named = known.getByRole('listitem').filter({ hasText: 'which receiver it has found' })
    expect(await named.getByRole('radio', { name: 'Yes' }).isChecked()).toBe(true)
    expect(await page.getByLabel('Image in question').inputValue()).toBe('wren-6-2.4.0')
    await page.getByText('waits at step 10 of 17').waitFor()
    await button(page, 'Back to the run').click()
    await step(page).filter({ hasText: 'It was refused before anything was written.' }).waitFor()
    expect(await press(page, 'Space')).toMatch(/start the update of the receiver by cable/)
  })

  it('is offered again after the window was loaded anew, and stops with what to do', async () => {
    await page.reload()
    const left = page.getByRole('region', { name: 'A run that was left open' })
    await left.getByText(/It stands at step 9 of 17/).waitFor()
    await left.getByRole('button', { name: 'Go on with it' }).click()
    await step(page).filter({ hasText: 'start the update of the receiver' }).waitFor()
    await press(page, 'Space')
    await press(page, 'e')
    await press(page, '4')
    await press(page, 's')
    await page.getByText('Whether writing had begun is not known').waitFor()
    expect(await page.locator('.gd-way-back li').count()).toBe(3)
    await pressBig(page, 'End it here')
    await page.getByText('The run has ended and stands in the logbook').waitFor()
    await expect.poll(() => page.evaluate(() => document.activeElement?.id)).toBe('gd-step')
    await pressBig(page, 'Close the run')
    await page.reload()
    await button(page, 'Open the demo bench').waitFor()
    expect(await left.count()).toBe(0)
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})

describe.skipIf(lacks('chromium'))('a guided run by air in a phone-sized window', () => {
  let workbench: Workbench
  let page: Page
  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 360, height: 640 }, hasTouch: true, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await openDemo(page)
  })
  afterAll(async () => workbench?.close())

  it('shows every step whole, its answers in reach, with big targets', async () => {
    await page.getByRole('radio', { name: 'By air' }).check()
    expect(await cutOff(page)).toEqual([])
    await begin(page)
    for (let i = 0; i < 30; i++) {
      expect(await cutOff(page), (await step(page).textContent()) ?? '').toEqual([])
      for (const target of await page.locator('.gd-big').all())
        expect((await target.boundingBox())?.height).toBeGreaterThanOrEqual(48)
      if (/everything has been checked/.test((await step(page).textContent()) ?? '')) return
      const before = await step(page).textContent()
      await page.waitForTimeout(SETTLE_MS + 50)
      await button(page, 'Saw it').tap()
      await expect.poll(() => step(page).textContent()).not.toBe(before)
    }
    throw new Error('the run does not end')
  })

  it('says what power a receiver in a model needs, and what is to be off', async () => {
    await page.waitForTimeout(SETTLE_MS + 50)
    await button(page, 'Close the run').tap()
    await page.getByText('Read all steps first').tap()
    const outline = await page.locator('.gd-outline').textContent()
    expect(outline).toMatch(/can stay in Club trainer\. It is fed by 6 V regulator/)
    expect(outline).toMatch(/Switch everything else off that transmits near here/)
    expect(outline).not.toMatch(/Plug .*cable/)
  })
})

describe.skipIf(lacks('chromium')).each(['light', 'dark'] as const)('a guided run, %s', colorScheme => {
  let workbench: Workbench
  let page: Page
  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 1024, height: 700 }, colorScheme, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await openDemo(page)
  })
  afterAll(async () => workbench?.close())

  it('axe finds nothing, from the plan to the end; nothing is cut off', async () => {
    const sound = async () => {
      expect(await axe(page)).toEqual([])
      expect(await cutOff(page)).toEqual([])
    }
    await sound()
    await button(page, 'Rehearse it now').click()
    await button(page, 'Begin the guided run').waitFor()
    await page.getByText('Read all steps first').click()
    await sound()
    await button(page, 'Begin the guided run').click()
    await step(page).waitFor()
    await sound()
    await sawUntil(page, /Let the radio write/)
    await sound()
    await press(page, 'e')
    await sound()
    await press(page, '4')
    await sound()
    await pressBig(page, 'Find the reason')
    await page.getByRole('heading', { name: 'Diagnose', level: 1 }).waitFor()
    await button(page, 'Back to the run').waitFor()
    await sound()
    await button(page, 'Back to the run').click()
    await press(page, 's')
    await sound()
    await press(page, 'Space')
    await press(page, 'Space')
    await sawUntil(page, /everything has been checked/)
    await sound()
    await page.reload()
    await button(page, 'Open the demo bench').waitFor()
    await sound()
  })
})
