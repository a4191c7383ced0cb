import { createHash } from 'node:crypto'
import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { writeBench } from '../../shared/model/bench.ts'
import { bench, filesOf, wrenSpec } from '../renderer/firmware/sources.ts'
import { axeFinds } from '../support/axe.ts'
import { openWorkbench, type Workbench } from '../support/browser.ts'
import { testFolder } from '../support/folder.ts'
import { someOctets } from '../support/rehearse-page.ts'
import { lacks } from '../support/tools.ts'

interface Upload {
  readonly name: string
  readonly mimeType: string
  readonly buffer: Buffer
}
const upload = (name: string, content: string | Uint8Array): Upload => ({
  name,
  mimeType: 'application/octet-stream',
  buffer: Buffer.from(content),
})

const good = filesOf({ ...wrenSpec, version: '2.5.0', sequenceNumber: 25 })
const hopping = filesOf({ ...wrenSpec, version: '2.5.0', sequenceNumber: 26, region: 'hopping' })
const late = filesOf({
  ...wrenSpec,
  version: '3.0.0',
  sequenceNumber: 30,
  receiverFirmware: '>=2.3.0',
  hardwareRevisions: ['B'],
})
/** One digit of the tenth line's data is another: Intel HEX's checksum finds it. */
const damaged = filesOf({ ...wrenSpec, version: '2.2.0' })
  .hex.split('\n')
  .map((line, i) => (i === 9 ? `${line.slice(0, 9)}${line[9] === '0' ? '1' : '0'}${line.slice(10)}` : line))
  .join('\n')

const parts = (page: Page) => ({
  button: (name: string) => page.getByRole('button', { name, exact: true }),
  list: page.getByRole('listbox', { name: 'Images, the best first' }),
  option: (name: RegExp) => page.getByRole('option', { name }),
  outcomes: page.getByRole('region', { name: 'What became of the files' }),
  panel: page.getByRole('complementary', { name: 'Chosen image' }),
  question: page.getByRole('region', { name: 'What to look up next' }),
  line: page.getByRole('region', { name: /^Versions for/ }),
  search: page.getByRole('searchbox', { name: 'Search the images' }),
  receiver: (label: string) => page.getByLabel('Receiver', { exact: true }).selectOption({ label }),
})

async function openFirmware(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Open the demo bench' }).click()
  await page
    .getByRole('navigation', { name: 'Views' })
    .getByRole('button', { name: /^Firmware/ })
    .click()
  await parts(page)
    .option(/Wren 6, 2.4.0/)
    .waitFor()
}

async function importFiles(page: Page, ...files: Upload[]): Promise<void> {
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    parts(page).button('Import images…').click(),
  ])
  await chooser.setFiles(files)
}

async function drop(page: Page, ...files: Upload[]): Promise<void> {
  const transfer = await page.evaluateHandle(
    all => {
      const dropped = new DataTransfer()
      for (const { name, data } of all) dropped.items.add(new File([Uint8Array.from(data)], name))
      return dropped
    },
    files.map(({ name, buffer }) => ({ name, data: [...buffer] })),
  )
  const view = page.locator('.fw')
  await view.dispatchEvent('dragover', { dataTransfer: transfer })
  await view.dispatchEvent('drop', { dataTransfer: transfer })
}

describe.skipIf(lacks('chromium'))('the firmware view', () => {
  let workbench: Workbench
  let page: Page
  let on: ReturnType<typeof parts>

  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    on = parts(page)
    await openFirmware(page)
  })
  afterAll(async () => workbench?.close())

  it('ranks the bench’s images for the receiver, and shows the best one with its rules', async () => {
    const first = on.list.getByRole('option').first()
    expect(await first.textContent()).toContain('Wren 6, 2.4.0')
    expect(await first.textContent()).toContain('fits')
    await on.panel.getByRole('heading', { name: 'Wren 6, 2.4.0' }).waitFor()
    await on.option(/Curlew 12, 2.2.0/).click()
    const rule = on.panel.getByRole('article', { name: 'The image is for this type of receiver.' })
    expect(await rule.textContent()).toContain('does not hold')
    expect(await rule.textContent()).toContain('Take an image for Aldwick Wren 6.')
    const settled = on.panel.getByText(/^What holds \(\d+\)$/)
    expect(await on.panel.getByText('The image fits into the program flash.').isVisible()).toBe(false)
    await settled.click()
    expect(await on.panel.getByText('The image fits into the program flash.').isVisible()).toBe(true)
  })

  it('takes two good files and says what is wrong with the damaged one, and where', async () => {
    await importFiles(
      page,
      upload('wren-6-2.5.0.hex', good.hex),
      upload('wren-6-2.5.0.card.json', good.card),
      upload('wren-6-3.0.0.hex', late.hex),
      upload('wren-6-3.0.0.hex.card.json', late.card),
      upload('wren-6-2.2.0.hex', damaged),
    )
    await on.outcomes.getByRole('heading', { name: '3 files: 2 taken, 1 not taken' }).waitFor()
    const bad = on.outcomes.getByRole('listitem').first()
    expect(await bad.textContent()).toContain('wren-6-2.2.0.hex, line 10: The checksum')
    expect(await on.outcomes.getByText('With its image card.').count()).toBe(2)
    await on.option(/wren-6-2\.5\.0\.hex/).waitFor()
    expect(await on.option(/wren-6-2\.2\.0\.hex/).count()).toBe(0)
  })

  it('knows a file that is there already', async () => {
    await importFiles(page, upload('copy of wren.hex', good.hex))
    await on.outcomes.getByText('there already').first().waitFor()
    expect(await on.outcomes.textContent()).toContain('It is there as wren-6-2.5.0.hex.')
    await on.outcomes.getByRole('button', { name: 'Close' }).click()
    await on.outcomes.waitFor({ state: 'detached' })
  })

  it('shows the steps on the way to an image that needs another one first', async () => {
    await on.option(/wren-6-3\.0\.0\.hex/).click()
    expect(await on.option(/wren-6-3\.0\.0\.hex/).textContent()).toContain('fits after a step')
    expect(await on.line.textContent()).toContain('runs now')
    expect(await on.line.getByRole('button', { name: /step 1 on the way/ }).textContent()).toContain('2.5.0')
    expect(await on.line.textContent()).toContain('First wren-6-2.5.0.hex; after that the chosen image.')
    expect(await on.panel.textContent()).toContain(
      'The image goes on firmware >=2.3.0 only; the receiver runs 2.1.0',
    )
    await on.line
      .getByRole('button', { name: /2\.3\.0/ })
      .first()
      .click()
    await on.panel.getByRole('heading', { name: 'Wren 6, 2.3.0' }).waitFor()
  })

  it('tells look-alikes apart in words and side by side', async () => {
    await drop(page, upload('wren-6-2.5.O.hex', hopping.hex), upload('wren-6-2.5.O.card.json', hopping.card))
    await on.outcomes.getByText('With its image card.').waitFor()
    await on.outcomes.getByRole('button', { name: 'Close' }).click()
    await on.option(/wren-6-2\.5\.0\.hex/).click()
    const compare = on.panel.getByRole('region', { name: 'Compare before you go on' })
    expect(await compare.textContent()).toContain(
      'Not the same as wren-6-2.5.O.hex. How the air is shared: listen-before-talk here, hopping without listening there.',
    )
    expect(await compare.getByRole('row', { name: /^The receiver/ }).textContent()).toContain('runs 2.1.0')
    const words = await compare.getByRole('row').locator('code').allTextContents()
    expect(words.length).toBeGreaterThan(1)
    expect(new Set(words).size).toBe(words.length)
  })

  it('finds the image for the receiver with no markings by asking, and takes an answer back', async () => {
    await on.receiver('Wren with no markings')
    const decided = () => on.list.getByRole('option').first().textContent()
    await expect.poll(decided).toContain('not known')
    await on.question.getByRole('heading', { name: 'Which hardware revision is the receiver?' }).waitFor()
    await on.question.getByRole('button', { name: 'B', exact: true }).click()
    await page.getByText('Done: Answer “B” to “Which hardware revision is the receiver?”.').waitFor()
    await on.button('Take it back').click()
    await on.question.getByRole('heading', { name: 'Which hardware revision is the receiver?' }).waitFor()
    await on.question.getByRole('button', { name: 'B', exact: true }).click()
    await on.question.getByRole('heading', { name: 'How does the receiver share the air?' }).waitFor()
    await on.question.getByRole('button', { name: 'I don’t know' }).click()
    // One image goes on a certain firmware only, so that is worth knowing too.
    await on.question.getByRole('heading', { name: 'Which firmware does the receiver run?' }).waitFor()
    await on.question.getByRole('button', { name: 'I don’t know' }).click()
    await page.getByText('What you do not know stays not known').waitFor()
    expect(await decided()).toContain('not known')
    await on.button('Ask me again').click()
    await on.question.getByRole('button', { name: 'listen-before-talk' }).click()
    await expect.poll(decided).toContain('fits2.5.0')
    expect(await decided()).toContain('wren-6-2.5.0.hex')
    expect(await on.option(/wren-6-2\.5\.O\.hex/).textContent()).toContain('does not fit')
  })

  it('asks for what else the images hang on, and says nothing fits before it is known', async () => {
    expect(await on.option(/wren-6-3\.0\.0\.hex/).textContent()).toContain('not known')
    expect(await on.line.textContent()).toContain('what the receiver runs')
  })

  it('puts something right on the bench with one click, and takes it back', async () => {
    await on.receiver('Heron in the helicopter')
    await page.getByRole('radio', { name: 'Wireless' }).check()
    await on.option(/Heron 8, 1.7.0/).click()
    await expect.poll(() => on.option(/Heron 8, 1.7.0/).textContent()).toContain('does not fit')
    await on.panel.getByRole('button', { name: 'Set the module for generation 2' }).click()
    await expect.poll(() => on.option(/Heron 8, 1.7.0/).textContent()).not.toContain('does not fit')
    await on.button('Take it back').click()
    await expect.poll(() => on.option(/Heron 8, 1.7.0/).textContent()).toContain('does not fit')
    await page.getByRole('radio', { name: 'By cable' }).check()
    await expect.poll(() => on.option(/Heron 8, 1.7.0/).textContent()).not.toContain('does not fit')
  })

  it('takes an image without a card, asks what it is for, and shows what is still open', async () => {
    await on.receiver('Wren in the club trainer')
    await drop(page, upload('mystery.bin', someOctets(9000)))
    await on.panel.getByRole('heading', { name: 'mystery.bin' }).waitFor()
    await on.panel.getByText('It came without an image card.').waitFor()
    await on.button('Say what it is for…').click()
    const form = page.getByRole('dialog', { name: 'What is mystery.bin for?' })
    await form.getByLabel('Type of receiver').selectOption({ label: 'Aldwick Wren 6' })
    await form.getByLabel('Version: not known').uncheck()
    await form.getByRole('textbox', { name: 'Version' }).fill('2.6')
    await form.getByRole('button', { name: 'Keep as its image card' }).click()
    await form.getByText('Three numbers with dots').waitFor()
    await form.getByRole('textbox', { name: 'Version' }).fill('2.6.0')
    await form.getByLabel('Link generation').selectOption('3')
    await form.getByRole('checkbox', { name: 'Bands: not known' }).uncheck()
    await form.getByRole('checkbox', { name: '2.4 GHz' }).check()
    await form.getByLabel('How the air is shared').selectOption({ label: 'listen-before-talk' })
    await form.getByRole('button', { name: 'Keep as its image card' }).click()
    await form.waitFor({ state: 'detached' })
    await on.panel.getByText('Its image card leaves something open.').waitFor()
    expect(await on.panel.textContent()).toContain('Not known: hardware revisions, whether it may go by air.')
    await expect.poll(() => on.option(/mystery\.bin/).textContent()).toContain('2.6.0')
    // A card of one's own making proves nothing of the image: what its maker publishes does.
    const published = on.panel.getByRole('textbox', { name: 'SHA-256 digest that its maker publishes' })
    await published.fill('abc')
    await on.panel.getByRole('button', { name: 'Compare' }).click()
    await on.panel.getByText('A SHA-256 digest has 64 digits').waitFor()
    await published.fill('ab'.repeat(32))
    await on.panel.getByRole('button', { name: 'Compare' }).click()
    await page.getByText('This digest is neither that of the file').waitFor()
    await published.fill(createHash('sha256').update(someOctets(9000)).digest('hex'))
    await published.press('Enter')
    await on.panel.getByText('It agrees with what the maker publishes').waitFor()
    await on.panel.getByRole('button', { name: 'Take it back' }).click()
    await published.waitFor()
    await page.locator('.fw-told').getByRole('button', { name: 'Take it back' }).click()
    await on.panel.getByText('It came without an image card.').waitFor()
  })

  it('removes an image and brings it back', async () => {
    await on.option(/mystery\.bin/).click()
    await on.panel.getByRole('button', { name: 'Remove from the library' }).click()
    await on.option(/mystery\.bin/).waitFor({ state: 'detached' })
    await page.getByText('Removed mystery.bin.').waitFor()
    await on.button('Take it back').click()
    await on.option(/mystery\.bin/).waitFor()
  })

  it('finds by text, walks by the arrow keys, and keeps the choice in sight', async () => {
    await on.search.fill('wren 2.')
    await expect.poll(() => on.list.getByRole('option').count()).toBe(5)
    await on.list.getByRole('option').first().click()
    await on.list.focus()
    await page.keyboard.press('End')
    await expect
      .poll(() => on.panel.getByRole('heading', { level: 2 }).textContent())
      .toContain('wren-6-2.5.O.hex')
    await page.keyboard.press('Home')
    await expect
      .poll(() => on.panel.getByRole('heading', { level: 2 }).textContent())
      .toContain('wren-6-2.5.0.hex')
    await on.search.fill('no such image')
    await on.button('Show all images').click()
    await on.option(/Wren 6, 2.4.0/).waitFor()
  })

  it('rehearses with an image of the library until the receiver runs it', async () => {
    await on.option(/wren-6-2\.5\.0\.hex/).click()
    await on.panel.getByRole('button', { name: 'Rehearse with this image' }).click()
    const form = page.getByRole('form', { name: 'Set up the rehearsal' })
    await form.waitFor()
    const picker = form.getByRole('combobox', { name: 'Image' })
    await expect
      .poll(() => picker.evaluate(s => (s as HTMLSelectElement).selectedOptions[0].text))
      .toBe('wren-6-2.5.0.hex')
    await page.getByRole('button', { name: 'Rehearse', exact: true }).click()
    await page.locator('.rh-play').waitFor()
    await page.keyboard.press('End')
    const outcome = page.getByRole('article', { name: 'Outcome of the rehearsal' })
    await outcome.getByText('Updated', { exact: true }).waitFor()
    expect(await outcome.textContent()).toContain('equals the image, all 16,384 octets')
  })

  it('ran without errors, policy violations or requests to anywhere else', () => {
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})

describe.skipIf(lacks('chromium'))('a bench with thousands of images', () => {
  let workbench: Workbench
  let page: Page
  const folder = testFolder('many-images')

  beforeAll(async () => {
    const [wren] = bench.images
    const many = Array.from({ length: 3000 }, (_, i) => ({
      ...wren,
      id: `many-${i}`,
      name: `Trial ${i}`,
      version: `3.${i}.0`,
    }))
    const benchFile = join(folder.path, 'many.preflash.json')
    writeFileSync(benchFile, writeBench({ ...bench, images: [...bench.images, ...many] }))
    workbench = await openWorkbench({ benchFile, context: { viewport: { width: 1280, height: 800 } } })
    page = workbench.page
    page.setDefaultTimeout(15_000)
    await page
      .getByRole('navigation', { name: 'Views' })
      .getByRole('button', { name: /^Firmware/ })
      .click()
  })
  afterAll(async () => {
    await workbench?.close()
    folder.remove()
  })

  it('has only those in sight on the page, and gets to the last one by a key', async () => {
    const on = parts(page)
    const options = on.list.getByRole('option')
    await options.first().waitFor()
    expect(await options.first().getAttribute('aria-setsize')).toBe(String(3000 + bench.images.length))
    expect(await options.count()).toBeLessThan(30)
    await on.list.focus()
    await page.keyboard.press('End')
    await expect.poll(() => options.last().getAttribute('aria-selected')).toBe('true')
    expect(await options.count()).toBeLessThan(30)
    await on.search.fill('trial 1234')
    await expect.poll(() => options.count()).toBe(1)
    expect(await on.line.textContent()).toMatch(/\d+ more/)
  })
})

describe.skipIf(lacks('chromium')).each(['light', 'dark'] as const)('the firmware view, %s', colorScheme => {
  let workbench: Workbench
  let page: Page
  const found = async () => {
    return axeFinds(page)
  }

  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 1024, height: 700 }, colorScheme, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await openFirmware(page)
  })
  afterAll(async () => workbench?.close())

  it('axe finds nothing with a question, imported files, a broken rule and the form', async () => {
    const on = parts(page)
    await on.receiver('Wren with no markings')
    await on.question.waitFor()
    expect(await found()).toEqual([])
    await importFiles(page, upload('mystery.bin', someOctets(9000)), upload('bad.hex', damaged))
    await on.outcomes.waitFor()
    expect(await found()).toEqual([])
    await on.outcomes.getByRole('button', { name: 'Close' }).click()
    await on.option(/Curlew 12/).click()
    expect(await found()).toEqual([])
    await on.option(/mystery/).click()
    await on.button('Say what it is for…').click()
    expect(await found()).toEqual([])
    await page.getByRole('button', { name: 'Cancel' }).click()
  })

  it('shows the longest name of a receiver whole', async () => {
    const choice = page.getByLabel('Receiver', { exact: true })
    // A select says nothing of text that it cuts: the same words in the same type beside it do.
    const [width, needed] = await choice.evaluate((select: HTMLSelectElement) => {
      const words = document.createElement('span')
      const { font, paddingLeft } = getComputedStyle(select)
      Object.assign(words.style, { font, position: 'absolute', whiteSpace: 'nowrap' })
      select.after(words)
      const widths = [...select.options].map(option => {
        words.textContent = option.text
        return words.getBoundingClientRect().width
      })
      words.remove()
      return [select.clientWidth, Math.max(...widths) + Number.parseFloat(paddingLeft)]
    })
    const arrow = 16
    expect(width).toBeGreaterThan(needed + arrow)
  })

  it('has the one action in sight and nothing wider than the window', async () => {
    const on = parts(page)
    const box = (await on.panel.getByRole('button', { name: 'Rehearse with this image' }).boundingBox())!
    expect(box.y + box.height).toBeLessThanOrEqual(700)
    expect(box.x + box.width).toBeLessThanOrEqual(1024)
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(1024)
  })
})
