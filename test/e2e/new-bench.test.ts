import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { octetsOf } from '../renderer/new-bench/sample-image.ts'
import { axeFinds } from '../support/axe.ts'
import type { Workbench } from '../support/browser.ts'
import { openWorkbench } from '../support/browser.ts'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'
import { dropFile } from '../support/new-bench-page.ts'
import { lacks } from '../support/tools.ts'

const title = (page: Page, text: string | RegExp) => page.getByRole('heading', { level: 1, name: text })
const keys = async (page: Page, ...all: string[]) => {
  for (const key of all) await page.keyboard.press(key)
}

async function tabTo(page: Page, name: string): Promise<void> {
  for (let presses = 0; presses < 40; presses++) {
    const focused = await page.evaluate(() => document.activeElement?.textContent?.trim())
    if (focused === name) return
    await page.keyboard.press('Tab')
  }
  throw new Error(`No way to ${name} by the Tab key`)
}

describe.skipIf(lacks('chromium'))('a new bench', () => {
  let workbench: Workbench
  let page: Page
  let folder: TestFolder
  let file: string

  beforeAll(async () => {
    folder = testFolder('new-bench')
    file = join(folder.path, 'own receiver.hex')
    writeFileSync(file, writeIntelHex([{ address: 0x0800_4000, octets: octetsOf(6000) }]))
    workbench = await openWorkbench({ context: { viewport: { width: 1280, height: 800 } } })
    page = workbench.page
    page.setDefaultTimeout(20_000)
  })
  afterAll(async () => {
    await workbench?.close()
    folder?.remove()
  })

  it('leads from the first screen to a rehearsal that ends updated, by keyboard alone', async () => {
    await page.getByRole('button', { name: 'New bench' }).waitFor()
    await tabTo(page, 'New bench')
    await keys(page, 'Enter')

    await title(page, 'What do you call the radio?').waitFor()
    await expect
      .poll(() => page.getByLabel('Name of the radio').evaluate(e => e === document.activeElement))
      .toBe(true)
    await keys(page, 'Enter')
    await page.getByText('Answer, or say that you don’t know.').waitFor()
    await page.keyboard.type('Tarn at home')
    await keys(page, 'Enter')

    await title(page, 'Is there a memory card in the radio?').waitFor()
    await focusIsIn(page, 'storage')
    await keys(page, 'Space', 'Enter')

    await title(page, /^Which RF module/).waitFor()
    await focusIsIn(page, 'modulePlace')
    await keys(page, 'ArrowDown', 'Enter')

    await title(page, 'On which band does the module transmit?').waitFor()
    await focusIsIn(page, 'moduleBand')
    await keys(page, 'Space', 'Enter')

    await title(page, 'Which firmware does the module run?').waitFor()
    await focusIsOn(page, 'Firmware of the module')
    await page.keyboard.type('newest')
    await keys(page, 'Enter')
    await page.getByText('Numbers with dots, such as 2.3.1. If it looks different').waitFor()
    await tabTo(page, 'I don’t know')
    await keys(page, 'Enter')

    await title(page, 'What is printed on the receiver?').waitFor()
    await focusIsOn(page, 'Maker')
    await page.keyboard.type('Aldwick')
    await keys(page, 'Tab')
    await page.keyboard.type('Wren 6')
    await keys(page, 'Enter')

    await title(page, 'On which band does the receiver listen?').waitFor()
    await focusIsIn(page, 'receiverBand')
    await keys(page, 'Space', 'Enter')

    for (const question of [
      /^Which generation/,
      /^How does the receiver share/,
      /^Which firmware does the receiver/,
    ]) {
      await title(page, question).waitFor()
      await tabTo(page, 'I don’t know')
      await keys(page, 'Enter')
    }

    await title(page, 'Is the receiver in a model?').waitFor()
    await focusIsIn(page, 'model')
    await keys(page, 'Space')
    await page.getByText('propeller or rotor off, and the drive disconnected').waitFor()
    await keys(page, 'Enter')

    await title(page, 'How should the image reach the receiver?').waitFor()
    await focusIsIn(page, 'route')
    await keys(page, 'Space', 'Enter')

    await title(page, 'What feeds the receiver during the update?').waitFor()
    await focusIsIn(page, 'feed')
    await keys(page, 'Space')
    await page.getByText('One supply only').waitFor()
    await keys(page, 'Enter')

    await title(page, 'Have you got the image file?').waitFor()
    const chooser = page.waitForEvent('filechooser')
    await tabTo(page, 'Choose a file…')
    await keys(page, 'Enter')
    await (await chooser).setFiles(file)
    await page.getByText('Intel HEX, 6,000 octets, from 0x08004000 to 0x0800576F.').waitFor()
    await tabTo(page, 'Next')
    await keys(page, 'Enter')

    await title(page, 'Ready to rehearse Aldwick Wren 6').waitFor()
    const page_ = page.getByRole('form', { name: 'Ready to rehearse Aldwick Wren 6' })
    await page_.getByText('64 KiB from address 0x08004000, in pages of 1 KiB').waitFor()
    await page_.getByText('Read its label before you connect a real one.').waitFor()
    await page_.getByRole('listitem').filter({ hasText: 'Link generation' }).waitFor()
    await tabTo(page, 'Go to the rehearsal')
    await keys(page, 'Enter')

    await page.getByRole('form', { name: 'Set up the rehearsal' }).waitFor()
    await page.getByText('own receiver.hex').waitFor()
    await tabTo(page, 'Rehearse')
    await keys(page, 'Enter')
    const outcome = page.getByRole('article', { name: 'Outcome of the rehearsal' })
    await page.getByRole('button', { name: 'Pause', exact: true }).waitFor()
    await keys(page, 'End')
    await outcome.waitFor()
    await outcome.getByText(/Updated$/).waitFor()
    expect(await outcome.textContent()).toContain('equals the image, all 6,000 octets')
  })

  it('knows "I don’t know" as the answer to everything, and still ends updated', async () => {
    await startOver(page)
    for (let n = 1; n <= 14; n++) {
      await page.getByText(`Question ${n} of 14`).waitFor()
      await page
        .getByRole('button', { name: n === 14 ? 'I have none yet' : 'I don’t know', exact: true })
        .click()
    }
    await page.getByText('a practice image that Preflash builds').waitFor()
    await page.getByRole('button', { name: 'Go to the rehearsal' }).click()
    // The bench of the test before has never been saved.
    await page.getByRole('button', { name: 'Go on without saving' }).click()
    await page.getByRole('button', { name: 'Rehearse', exact: true }).click()
    await page.getByRole('button', { name: 'Pause', exact: true }).waitFor()
    await keys(page, 'End')
    const outcome = page.getByRole('article', { name: 'Outcome of the rehearsal' })
    await outcome.getByText(/Updated$/).waitFor()
  })

  it('goes back with every answer kept, and to any question that was answered', async () => {
    await startOver(page)
    const steps = page.getByRole('navigation', { name: 'Questions' })
    await page.getByLabel('Name of the radio').fill('Quay')
    await page.getByRole('button', { name: 'Next' }).click()
    await page.getByRole('radio', { name: /^No, it keeps/ }).check()
    await page.getByRole('button', { name: 'Next' }).click()
    expect(await steps.getByRole('button', { name: /^Receiver$/ }).isDisabled()).toBe(true)
    await page.getByRole('button', { name: 'Back' }).click()
    expect(await page.getByRole('radio', { name: /^No, it keeps/ }).isChecked()).toBe(true)
    await steps.getByRole('button', { name: /^Radio Quay/ }).click()
    expect(await page.getByLabel('Name of the radio').inputValue()).toBe('Quay')
    await page.getByRole('button', { name: 'Cancel' }).click()
    await page.getByRole('button', { name: 'New bench' }).waitFor()
  })

  it('takes a dropped file, and says what is wrong with one that is no image', async () => {
    await startOver(page)
    for (let n = 1; n <= 13; n++)
      await page.getByRole('button', { name: 'I don’t know', exact: true }).click()
    await title(page, 'Have you got the image file?').waitFor()
    await dropFile(
      page,
      'letter.txt',
      Buffer.from('Dear friend, this is only a letter and no image at all. '.repeat(3)),
    )
    await page.getByText('This is a text file, not an image').waitFor()
    await page.getByRole('button', { name: 'Next' }).click()
    await page.getByText('Choose a file, or say that you have none yet.').waitFor()
    await dropFile(page, 'own.bin', Buffer.from(octetsOf(3000)))
    await page.getByText('Raw binary, 3,000 octets.').waitFor()
    expect(await page.getByText('This is a text file').count()).toBe(0)
  })

  it.each(['light', 'dark'] as const)('has nothing that axe objects to on any page, %s', async colours => {
    await page.getByRole('combobox', { name: 'Colours' }).selectOption(colours)
    await startOver(page)
    const found: string[] = []
    for (let n = 1; n <= 14; n++) {
      await page.getByText(`Question ${n} of 14`).waitFor()
      await page.getByRole('button', { name: 'Next' }).click()
      found.push(...(await axeFinds(page)).map(f => `question ${n}: ${f}`))
      await page
        .getByRole('button', { name: n === 14 ? 'I have none yet' : 'I don’t know', exact: true })
        .click()
    }
    await title(page, /^Ready to rehearse/).waitFor()
    found.push(...(await axeFinds(page)).map(f => `summary: ${f}`))
    expect(found).toEqual([])
  })

  it('runs without errors, policy violations or requests to anywhere else', () => {
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})

/** From wherever the test before has left the window. */
async function startOver(page: Page): Promise<void> {
  await page
    .getByRole('navigation', { name: 'Views' })
    .getByRole('button', { name: /^Benches/ })
    .click()
  await page.getByRole('button', { name: 'New bench' }).click()
  await title(page, 'What do you call the radio?').waitFor()
}

const focusIsIn = (page: Page, radioName: string) =>
  expect.poll(() => page.evaluate(() => (document.activeElement as HTMLInputElement).name)).toBe(radioName)
const focusIsOn = (page: Page, label: string) =>
  expect.poll(() => page.getByLabel(label).evaluate(e => e === document.activeElement)).toBe(true)
