import type { Locator, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { findCause } from '../../shared/diagnose/causes.ts'
import { type HiddenFaults, hideFaults } from '../../shared/diagnose/hide.ts'
import { axeFinds } from '../support/axe.ts'
import { openWorkbench, type Workbench } from '../support/browser.ts'
import { lacks } from '../support/tools.ts'

const parts = (page: Page) => ({
  view: (name: RegExp) => page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name }),
  button: (name: string | RegExp) => page.getByRole('button', { name, exact: typeof name === 'string' }),
  number: page.getByLabel('Number of the exercise'),
  faults: (name: string) => page.getByRole('radio', { name, exact: true }),
  exercise: page.getByRole('region', { name: 'The exercise' }),
  looks: page.getByRole('region', { name: /^What you can look at/ }),
  repairs: page.getByRole('region', { name: /^What you can repair/ }),
  row: (text: string) => page.getByRole('listitem').filter({ hasText: text }),
})

/** The first number under which something is hidden that is as wanted: numbers move when causes are added. */
function numberOf(faults: 1 | 2, isWanted: (hidden: HiddenFaults) => boolean): string {
  const bench = demoBench()
  for (let seed = 1; seed < 500; seed++) {
    const hidden = hideFaults(bench, 'wren-trainer', seed, { faults })
    if (hidden !== undefined && isWanted(hidden)) return String(seed)
  }
  throw new Error('no number hides that')
}
const isOfModule = (id: string) => findCause(id)?.part === 'module'
/** The wireless update is not offered, and that is not because the module is off. */
const NOT_OFFERED = numberOf(1, h => h.symptom === 'not-offered' && !h.truth.includes('module-off'))
/** Two faults, neither of them in the module. */
const TWO = numberOf(2, h => h.symptom === 'write-refused' && !h.truth.some(isOfModule))

/** Moves on by the tabulator alone until this has the focus. */
async function tabTo(page: Page, to: Locator): Promise<void> {
  await to.waitFor()
  for (let i = 0; i < 200; i++) {
    if (await to.evaluate(element => element === document.activeElement)) return
    await page.keyboard.press('Tab')
  }
  throw new Error(`the keyboard does not get to ${to}`)
}
async function press(page: Page, to: Locator): Promise<void> {
  await tabTo(page, to)
  await page.keyboard.press('Enter')
}

async function openPractice(page: Page): Promise<void> {
  const on = parts(page)
  await press(page, on.button('Open the demo bench'))
  await on.view(/^Diagnose/).waitFor()
  await press(page, on.view(/^Diagnose/))
  await press(page, on.button('Practise'))
  await page.getByRole('heading', { name: /^Find what is wrong/ }).waitFor()
}

/** Begins the exercise of this number, by keyboard. */
async function begin(page: Page, number: string): Promise<void> {
  const on = parts(page)
  await tabTo(page, on.number)
  await page.keyboard.press('ControlOrMeta+a')
  await page.keyboard.type(number)
  await page.keyboard.press('Enter')
}

describe.skipIf(lacks('chromium'))('a practice, by keyboard alone', () => {
  let workbench: Workbench
  let page: Page
  let on: ReturnType<typeof parts>
  const clock = (text: RegExp) => expect.poll(() => on.exercise.textContent()).toMatch(text)

  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    on = parts(page)
    await openPractice(page)
  })
  afterAll(async () => workbench?.close())

  it('refuses a number that is none, and says which are', async () => {
    await begin(page, 'seven')
    await page.getByText('Write a whole number from 0 to 999999, or nothing.').waitFor()
    expect(await on.exercise.count()).toBe(0)
  })

  it('looks, repairs in vain, takes a hint, and is told what it was once it works', async () => {
    await begin(page, NOT_OFFERED)
    await on.exercise.getByText('The wireless update is not offered').waitFor()
    await clock(/One thing is wrong.*0 minutes.*no looks, no repairs, no hints/)

    const question = 'Is the battery of the radio well charged?'
    await press(page, on.button(`Look: ${question}`))
    await on.looks.getByText('in order', { exact: true }).waitFor()
    await clock(/1 minute1 look, no repairs/)
    // The row is where it was, and so is the keyboard.
    expect(await on.button(`Look again: ${question}`).evaluate(e => e === document.activeElement)).toBe(true)

    await tabTo(page, page.getByLabel('Find a repair'))
    await page.keyboard.type('switch module')
    await press(page, on.button('Do it: The module is switched off'))
    await on.exercise.getByText('Tried again: it is still the same.').waitFor()
    await on.button('Do it again: The module is switched off').waitFor()

    // Somebody looks elsewhere, and comes back to the same exercise.
    await press(page, on.view(/^Fleet/))
    await press(page, on.view(/^Diagnose/))
    await clock(/1 look, 1 repair, no hints/)

    for (let i = 0; i < 20 && (await on.button('Another one').count()) === 0; i++) {
      await press(page, on.button('Give me a hint'))
      await press(page, on.button(/^(Look there|Do that)$/))
      await expect.poll(() => on.button(/^(Look there|Do that)$/).count()).toBe(0)
    }
    await page.getByRole('heading', { name: /^It works again\. It was: The/ }).waitFor()
    const told = (await page.locator('.pr-ended').textContent()) ?? ''
    expect(told).toContain('put right')
    expect(told).toContain('Repaired, although that was in order: “Switch the module on.”')
    expect(told).toMatch(/You took \d+ minutes? more than the engine/)
    expect(
      await page.getByRole('region', { name: 'The way of the engine' }).getByRole('listitem').count(),
    ).toBeGreaterThan(1)
  })

  it('plays the same again, gives up, and keeps both in a list; the diagnosis is as it was', async () => {
    await press(page, on.button('Same one again'))
    await clock(new RegExp(`Exercise ${NOT_OFFERED} .*0 minutes`))
    await press(page, on.button('Give up, show it'))
    await page.getByRole('heading', { name: /^Given up\. It was: The/ }).waitFor()
    await page.getByText('not put right').waitFor()
    await press(page, on.button('Other choices'))
    const list = page.getByRole('region', { name: /^Exercises so far/ })
    expect(await list.getByRole('listitem').allTextContents()).toEqual([
      expect.stringMatching(new RegExp(`^Number ${NOT_OFFERED}\\..*Given up: no looks`)),
      expect.stringMatching(new RegExp(`^Number ${NOT_OFFERED}\\..*Works after \\d+ minutes`)),
    ])
    await press(page, on.button('Leave practice'))
    await page.getByRole('heading', { name: 'What do you see?' }).waitFor()
    expect(await on.button('Practise').evaluate(e => e === document.activeElement)).toBe(true)
    expect(await page.title()).not.toContain('•')
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})

describe.skipIf(lacks('chromium')).each(['light', 'dark'] as const)('a practice, %s', colorScheme => {
  let workbench: Workbench
  let page: Page

  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 1024, height: 700 }, colorScheme, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await openPractice(page)
  })
  afterAll(async () => workbench?.close())

  it('axe finds nothing, nothing is wider than the window, and every part says that it is a practice', async () => {
    const on = parts(page)
    const sound = async () => {
      expect(await axeFinds(page)).toEqual([])
      expect(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth)).toBe(true)
      const headings = await page.locator('.pr h1, .pr h2').allTextContents()
      const first = page.locator('.pr-ended, .pr-story').locator('.dg-kind').first()
      const marked = (await first.count()) > 0 ? await first.textContent() : 'Practice'
      expect(marked).toContain('Practice')
      expect(headings.filter(h => !h.includes('Practice') && !h.startsWith('Given up'))).toEqual([])
    }
    await sound()
    await tabTo(page, on.faults('One'))
    await page.keyboard.press('ArrowRight')
    await begin(page, TWO)
    await on.exercise.waitFor()
    await page.locator('.pr-part summary').filter({ hasText: 'The module' }).click()
    await on
      .button(/^Look: /)
      .first()
      .click()
    await on.looks
      .getByText(/in order/)
      .first()
      .waitFor()
    await sound()
    await on
      .button(/^Do it: /)
      .first()
      .click()
    await on.exercise.getByText(/^Tried again/).waitFor()
    await on.button('Give me a hint').click()
    await on.exercise.getByText('Hint:').waitFor()
    await sound()
    await on.button('Give up, show it').click()
    await page.getByRole('heading', { name: /^Given up/ }).waitFor()
    await sound()
    await on.button('Other choices').click()
    await page.getByRole('heading', { name: /^Exercises so far/ }).waitFor()
    await sound()
  })
})
