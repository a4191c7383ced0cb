import { once } from 'node:events'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Journal } from '../../main/store/journal.ts'
import { SETTLE_MS } from '../../renderer/bench/guide/keys.ts'
import { axeFinds } from '../support/axe.ts'
import { openWorkbench, type Workbench } from '../support/browser.ts'
import { testFolder } from '../support/folder.ts'
import { startTestHost } from '../support/host.ts'
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
    // One second into a write of 56: it is asked once more, and a key that was meant for the step before does nothing.
    await page.waitForTimeout(SETTLE_MS + 50)
    await page.keyboard.press('Space')
    await page.keyboard.press('Space')
    await step(page)
      .filter({ hasText: /It should take about 56 seconds, .* Did you really see it\?/ })
      .waitFor()
    expect(await axe(page)).toEqual([])
    expect(await cutOff(page)).toEqual([])
    expect(await press(page, 'b')).toMatch(/Let the radio write/)
    expect(await press(page, 'e')).toBe('What do you see instead?')
    expect(await press(page, '1')).toMatch(/The first write has failed. That is common/)
    expect(await part(page).textContent()).toBe('Step 11 of 22 · Second attempt')
    expect(await live(page).textContent()).toBe('')
    await sawUntil(page, /Let the radio write/)
    expect(await part(page).textContent()).toContain('Second attempt')
    expect(await press(page, 'Space')).toContain('Did you really see it?')
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
    await page.getByText('Nothing has been written. The receiver is as it was before.').waitFor()
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
    // A dark receiver says nothing of the radio, which may go on writing.
    expect(await live(page).textContent()).toContain('may still be writing')
    expect(await page.locator('.gd-way-back li').count()).toBe(4)
    await page.getByText('Wait until the radio has ended the update by itself.').waitFor()
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

/** Long enough for somebody who really watched; less is taken for a step that was pressed away. */
const WATCHED_MS = 6_000

describe.skipIf(lacks('chromium'))('what guided runs have shown on this bench', () => {
  let workbench: Workbench
  let page: Page
  const words = () => page.locator('.gd-words')
  const closeRun = async () => {
    await pressBig(page, 'Close the run')
    await button(page, 'Begin the guided run').waitFor()
  }
  const start = async () => {
    await button(page, 'Begin the guided run').click()
    await step(page).waitFor()
  }

  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 1024, height: 700 }, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await openDemo(page)
  })
  afterAll(async () => workbench?.close())

  it('is nothing before the first', async () => {
    await button(page, 'Rehearse it now').click()
    await button(page, 'Begin the guided run').waitFor()
    expect(await page.locator('.gd-start').textContent()).not.toContain('On your bench')
    await start()
    await sawUntil(page, /Let the radio write/)
    expect(await words().textContent()).not.toContain('n your bench')
  })

  it('is a first write that failed and a second that worked, told at the end and at the next start', async () => {
    await press(page, 'e')
    await press(page, '1')
    await sawUntil(page, /is updated, and everything has been checked/)
    const learned = page.locator('.gd-learned')
    await learned.getByText('the first attempt failed in the one run so far').waitFor()
    await learned.getByText('the second then went through in 1 of 1').waitFor()
    await learned.getByText('counts in the odds of the next diagnosis').waitFor()
    await closeRun()
    await page.locator('.gd-own').getByText('failed in the one run so far').waitFor()
    await start()
    await sawUntil(page, /Let the radio write/)
    await words().getByText('the first attempt failed in the one run so far').waitFor()
  })

  it('is how long it took, and counts each run', async () => {
    await page.waitForTimeout(WATCHED_MS)
    expect(await press(page, 'Space')).toContain('Did you really see it?')
    await press(page, 'Space')
    await sawUntil(page, /is updated, and everything has been checked/)
    await page.locator('.gd-learned').getByText('failed in 1 of 2 runs').waitFor()
    await closeRun()
    await page.locator('.gd-own').getByText('failed in 1 of 2 runs').waitFor()
    await start()
    await sawUntil(page, /Let the radio write/)
    await page
      .locator('.gd-time')
      .getByText(/left of 56 seconds, as rehearsed/)
      .waitFor()
    await page
      .locator('.gd-time')
      .getByText(/^On your bench \d+ seconds \(from 1 run\)\.$/)
      .waitFor()
    expect(await axe(page)).toEqual([])
    expect(await cutOff(page)).toEqual([])
  })

  it('is a repair that Diagnose had advised, by the person’s word and one key', async () => {
    await press(page, 'e')
    expect(await press(page, '3')).toBe('It was refused before anything was written.')
    await page.waitForTimeout(SETTLE_MS + 50)
    await page.keyboard.press('Space')
    await page.getByRole('heading', { name: 'Diagnose', level: 1 }).waitFor()
    const next = page.getByRole('region', { name: 'What to do next' })
    const kind = next.locator('.dg-kind')
    await kind.waitFor()
    for (let i = 0; i < 20 && !/^Repair this/.test((await kind.textContent()) ?? ''); i++) {
      const asked = await next.locator('h2').textContent()
      await page.keyboard.press('c')
      await expect.poll(() => next.locator('h2').textContent()).not.toBe(asked)
    }
    const repair = (await next.locator('h2').textContent()) ?? ''
    await button(page, 'Back to the run').click()
    await words().getByText('Diagnose advises').waitFor()
    expect(await words().textContent()).toContain(repair)
    expect(await axe(page)).toEqual([])
    expect(await press(page, 'Space')).toMatch(/start the update of the receiver by cable/)
    await press(page, 'Space')
    expect(await page.locator('.gd-asked').count()).toBe(0)
    expect(await press(page, 'Space')).toContain('Did you really see it?')
    await press(page, 'Space')
    const asked = page.getByRole('region', { name: 'Was it that?' })
    await asked.getByText(repair).waitFor()
    expect(await axe(page)).toEqual([])
    expect(await cutOff(page)).toEqual([])
    await page.waitForTimeout(SETTLE_MS + 50)
    await page.keyboard.press('y')
    await words().getByText('It changes the odds on the demo bench alone.').waitFor()
    expect(await asked.count()).toBe(0)
    await button(page, 'Stop the run').click()
    await pressBig(page, 'End it here')
    await pressBig(page, 'Close the run')
  })

  it('is said by the next diagnosis, where it has changed the odds', async () => {
    await view(page, /^Diagnose/).click()
    await button(page, 'Start anew').click()
    await button(page, /Writing is refused at the first block/).click()
    await page
      .getByText(
        /Your own logbook counts \d finds? of what can cause this and 1 update that went through at the second attempt by itself; they have changed the odds\./,
      )
      .waitFor()
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})

describe.skipIf(lacks('chromium'))('a guided run whose program is killed', () => {
  it('loses no answer that was given, and is gone on with at the same step by the next', async () => {
    const folder = testFolder('guide-killed')
    const first = await startTestHost({ dataFolder: folder.path })
    const workbench = await openWorkbench({ host: first })
    const { page } = workbench
    page.setDefaultTimeout(20_000)
    try {
      await openDemo(page)
      await begin(page)
      await sawUntil(page, /Let the radio write/)
      await page.waitForTimeout(SETTLE_MS + 50)
      await page.keyboard.press('u')
      await page.getByText('To be sure').waitFor()
      // What the window has told the program is written down at once: wait for the reply, not for the disk.
      const answers = await loggedAnswers(folder.path, 10)
      const gone = once(first.process, 'exit')
      first.process.kill('SIGKILL')
      await gone
      expect(await loggedAnswers(folder.path, 10)).toEqual(answers)
      expect(answers.slice(-2)).toEqual(['start saw', 'watch unsure'])
      const second = await startTestHost({ dataFolder: folder.path })
      try {
        await page.goto(second.url)
        await page.reload()
        const left = page.getByRole('region', { name: 'A run that was left open' })
        await left.getByText(/It stands at step 10 of 17/).waitFor()
        await left.getByRole('button', { name: 'Go on with it' }).click()
        await step(page).filter({ hasText: 'Let the radio write' }).waitFor()
        await page.getByText('To be sure').waitFor()
        expect(await press(page, 'Space')).toContain('Did you really see it?')
        await press(page, 'Space')
        await step(page).filter({ hasText: 'which firmware the receiver runs now' }).waitFor()
        expect((await loggedAnswers(folder.path, 12)).slice(0, 10)).toEqual(answers)
      } finally {
        await second.stop()
      }
    } finally {
      await workbench.close()
      folder.remove()
    }
  })
})

/** The answers of the one run in the logbook, once there are so many. */
async function loggedAnswers(folder: string, count: number): Promise<string[]> {
  const journal = await Journal.open(folder)
  try {
    const read = () => {
      const [{ id }] = journal.sessions({ kind: 'guided' }).sessions
      return journal
        .session(id)
        .events.flatMap(({ event }) => (event.kind === 'answer' ? [`${event.to} ${event.said}`] : []))
    }
    await expect.poll(() => read().length, { timeout: 20_000 }).toBe(count)
    return read()
  } finally {
    journal.close()
  }
}

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
    await button(page, 'Rehearse it now').tap()
    await page.getByText('you must be able to get to the receiver then').waitFor()
    await button(page, 'Begin the guided run').tap()
    await step(page).waitFor()
    for (let i = 0; i < 30; i++) {
      expect(await cutOff(page), (await step(page).textContent()) ?? '').toEqual([])
      for (const target of await page.locator('.gd-big').all())
        expect((await target.boundingBox())?.height).toBeGreaterThanOrEqual(48)
      if (/everything has been checked/.test((await step(page).textContent()) ?? '')) return
      const before = await step(page).textContent()
      await page.waitForTimeout(SETTLE_MS + 50)
      await button(page, /^(Saw it|Yes, I saw it)$/).tap()
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

  it('says what the run before has shown, and all of it is in reach', async () => {
    const own = page.locator('.gd-own')
    await own.getByText('the first attempt went through in the one run so far').waitFor()
    await button(page, 'Begin the guided run').tap()
    await step(page).waitFor()
    await sawUntil(page, /Let the radio write/)
    const said = page.locator('.gd-words').getByText('went through in the one run so far')
    await said.scrollIntoViewIfNeeded()
    expect(await said.isVisible()).toBe(true)
    expect(await cutOff(page)).toEqual([])
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

  it('axe finds nothing, from the plan to the end; nothing is cut off', { timeout: 240_000 }, async () => {
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
    // On paper: ink on white whatever the screen is, and nothing to press.
    await page.emulateMedia({ media: 'print' })
    const paper = page.getByRole('region', { name: 'The whole run' })
    await paper.waitFor()
    for (const sheet of [page.locator('.gd'), paper])
      expect(
        await sheet.evaluate(one => [getComputedStyle(one).color, getComputedStyle(one).backgroundColor]),
      ).toEqual(['rgb(0, 0, 0)', sheet === paper ? 'rgba(0, 0, 0, 0)' : 'rgb(255, 255, 255)'])
    expect(await page.locator('.gd').getByRole('button').count()).toBe(0)
    // The whole run, with what was answered and when, and room for the rest.
    const onPaper = await paper.getByRole('listitem').allTextContents()
    const isAnswered = onPaper.map(text => /\d:\d\d.* Saw it\. After \d+ seconds?\./.test(text))
    const now = onPaper.findIndex(text => text.includes('Here now.'))
    expect(onPaper[now]).toContain('Let the radio write')
    expect(isAnswered).toEqual(onPaper.map((_, i) => i < now))
    expect(onPaper.at(-1)).toMatch(/No flight before failsafe and range check.*☐ Saw it/)
    await page.emulateMedia({ media: 'screen' })
    await paper.waitFor({ state: 'detached' })
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
