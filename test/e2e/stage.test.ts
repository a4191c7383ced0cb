import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { buildImage } from '../../shared/image/build.ts'
import { filesOf, wrenSpec } from '../renderer/firmware/sources.ts'
import { axeFinds } from '../support/axe.ts'
import { openWorkbench, type Workbench } from '../support/browser.ts'
import { demoImage, snapshot } from '../support/card-fixture.ts'
import {
  cardVolume,
  type PullableCard,
  pullableCard,
  startCardHost,
  systemVolume,
} from '../support/card-host.ts'
import { testFolder } from '../support/folder.ts'
import { lacks } from '../support/tools.ts'
import { makeZip } from '../support/zip.ts'

/** Cards are folders here, and the host runs in this process, so that a test can pull them at any octet. */

const NAME = 'aldwick-wren-6-2.4.0.image'
const later = (ms: number) => new Promise<void>(resolve => setTimeout(resolve, ms))

async function openFirmware(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Open the demo bench' }).click()
  await page
    .getByRole('navigation', { name: 'Views' })
    .getByRole('button', { name: /^Firmware/ })
    .click()
  await page.getByRole('option', { name: /Wren 6, 2.4.0/ }).waitFor()
}

const parts = (page: Page) => {
  const dialog = page.getByRole('dialog')
  return {
    dialog,
    option: (name: RegExp) => page.getByRole('option', { name }),
    panel: page.getByRole('complementary', { name: 'Chosen image' }),
    open: page.getByRole('button', { name: 'Put it on the card…' }),
    put: dialog.getByRole('button', { name: 'Put it on the card', exact: true }),
    folder: dialog.getByRole('textbox', { name: 'Folder', exact: true }),
    word: dialog.getByRole('textbox', { name: /digest word of this image/ }),
    volume: (name: string) => dialog.getByRole('radio', { name: new RegExp(name) }),
  }
}
type Parts = ReturnType<typeof parts>

/** Reads the word from the comparison, as a person does, and types it. */
async function typeWord(on: Parts): Promise<void> {
  const label =
    (await on.dialog.locator('label', { hasText: 'digest word of this image' }).textContent()) ?? ''
  const at = ['first', 'second', 'third', 'fourth'].findIndex(place => label.includes(place))
  const words = await on.dialog
    .getByRole('row', { name: /^This image/ })
    .locator('code')
    .textContent()
  await on.word.fill(words!.split('-')[at])
}

describe.skipIf(lacks('chromium'))('putting an image on a card', () => {
  let card: PullableCard
  let workbench: Workbench
  let page: Page
  let on: Parts
  const file = () => join(card.root, 'IMAGES', NAME)

  beforeAll(async () => {
    card = pullableCard([
      systemVolume,
      cardVolume('/media/somebody/LOCKED', { label: 'LOCKED', readOnly: true }),
    ])
    mkdirSync(join(card.root, 'IMAGES'))
    writeFileSync(file(), 'the old image')
    workbench = await openWorkbench({
      host: await startCardHost(card.env),
      context: { viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    on = parts(page)
    await openFirmware(page)
  })
  afterAll(async () => {
    await workbench?.close()
    card.remove()
  })

  it('says how this radio shows its storage, and what each volume is; the system’s disk is refused', async () => {
    await on.open.click()
    await on.dialog.getByText('Club Tarn, Aldwick Tarn 16.').waitFor()
    expect(await on.dialog.textContent()).toContain('choose storage, not joystick')
    await expect.poll(() => on.volume('CLUB').isChecked()).toBe(true)
    expect(await on.volume('LOCKED').isDisabled()).toBe(true)
    expect(await on.dialog.textContent()).toContain('It is read only.')
    await on.dialog.getByText('Not for images: 1 volume of this computer').click()
    await on.dialog
      .getByText("/ is a disk of this computer's own, not a card. The running system uses it.")
      .waitFor()
    await on.volume('A folder on this computer').check()
    await on.dialog.getByRole('textbox', { name: 'Path of the folder' }).fill('/etc')
    await on.dialog.getByText(/is a place of the system's/).waitFor()
    await typeWord(on)
    expect(await on.put.isDisabled()).toBe(true)
    await on.volume('CLUB').check()
  })

  it('checks the folder while it is typed, and counts what will be written', async () => {
    await on.folder.fill('NUL')
    await on.dialog.getByText(/a name that Windows keeps for a device/).waitFor()
    expect(await on.put.isDisabled()).toBe(true)
    await on.folder.fill('IMAGES')
    await on.dialog
      .getByText(`${demoImage().payload.length.toLocaleString('en')} octets, in place of the one`)
      .waitFor()
    expect(await on.dialog.textContent()).toMatch(/in clusters of .* are free/)
  })

  it('wants a look at the digest words where other images look alike', async () => {
    await on.word.fill('')
    await on.dialog.getByText('Type the digest word of this image.').waitFor()
    expect(await on.put.isDisabled()).toBe(true)
    await on.dialog.getByRole('button', { name: 'Take me there' }).click()
    expect(await on.word.evaluate(field => field === document.activeElement)).toBe(true)
    const others = await on.dialog
      .getByRole('row', { name: /^Wren 6, 2.3.0/ })
      .locator('code')
      .textContent()
    await on.word.fill(others!.split('-')[0])
    expect(await on.put.isDisabled()).toBe(true)
    await typeWord(on)
    await expect.poll(() => on.put.isEnabled()).toBe(true)
  })

  it('stops on request and leaves everything as it was', async () => {
    const before = snapshot(card.root)
    card.onWrite(() => later(40))
    await on.put.click()
    await on.dialog.getByRole('progressbar', { name: 'Written and read back' }).waitFor()
    await expect
      .poll(() => on.dialog.getByRole('progressbar').evaluate(bar => (bar as HTMLProgressElement).value))
      .toBeGreaterThan(0)
    await on.dialog.getByText(/KiB of \d+ KiB written and read back/).waitFor()
    expect(await page.locator('.app-top').textContent()).toContain(`Live: writing to ${card.root}`)
    // Escape does not take the window of a running job away, however often.
    await page.keyboard.press('Escape')
    await page.keyboard.press('Escape')
    await on.dialog.getByRole('button', { name: 'Stop' }).click()
    await on.dialog.getByText('Stopped. What was on the card before is as it was.').waitFor()
    expect(snapshot(card.root)).toEqual(before)
    await expect.poll(() => page.locator('.app-top').textContent()).toContain('Nothing live')
  })

  it('pulled in the middle: says so, the old file is intact, and staging again succeeds', async () => {
    card.onWrite(async nth => {
      await later(20)
      if (nth === 7) card.pull()
    })
    await on.dialog.getByRole('button', { name: 'Stage again' }).click()
    const alert = on.dialog.getByRole('alert')
    await alert.getByText(/The card is not there\. What was on the card before is as it was/).waitFor()
    expect(await alert.textContent()).toContain('Put the card in again')
    expect(readFileSync(file(), 'utf8')).toBe('the old image')
    await on.dialog.getByText('The volume is not there at this moment.').waitFor()
    card.putIn()
    card.onWrite(() => {})
    await on.dialog.getByText('The volume is there.').waitFor()
    await on.dialog.getByRole('button', { name: 'Stage again' }).click()
    await on.dialog.getByText('What was read back is the image, octet for octet.').waitFor()
    expect(readFileSync(file()).equals(Buffer.from(demoImage().payload))).toBe(true)
    expect(readdirSync(join(card.root, 'IMAGES')).filter(name => name.endsWith('.part'))).toEqual([])
    const text = await on.dialog.textContent()
    expect(text).toContain(demoImage().card.sha256)
    expect(text).toContain('Now eject')
    expect(text).toContain('Club Tarn')
  })

  it('is looked at later: one file that was changed since stands out', async () => {
    writeFileSync(join(card.root, 'IMAGES', '.DS_Store'), 'x')
    const octets = readFileSync(file())
    octets[1000] ^= 0x40
    writeFileSync(file(), octets)
    await on.dialog.getByRole('button', { name: 'What is on the card?' }).click()
    await on.dialog.getByRole('button', { name: 'Look at it' }).click()
    const result = on.dialog.getByRole('region', { name: 'What is on it' })
    await result.getByText('1 image: 1 changed.').waitFor()
    const text = await result.textContent()
    expect(text).toContain('is not what was staged: do not use it, stage it again')
    expect(text).toContain('Wren in the club trainer')
    expect(text).toContain('Left by desktop systems, of no use to the radio: .DS_Store')
    expect(await axeFinds(page)).toEqual([])
    await on.dialog.getByRole('button', { name: 'Close' }).click()
    await on.dialog.waitFor({ state: 'detached' })
  })

  it('remembers another folder on the bench, and takes that back', async () => {
    await on.open.click()
    await on.folder.fill('FIRMWARE/WREN')
    await typeWord(on)
    await expect.poll(() => on.put.isEnabled()).toBe(true)
    await on.put.click()
    await on.dialog.getByText('What was read back is').waitFor()
    await on.dialog.getByRole('button', { name: 'Done' }).click()
    expect(readdirSync(join(card.root, 'FIRMWARE', 'WREN'))).toContain(NAME)
    await page.getByText('Done: Keep “FIRMWARE/WREN” as the folder of Card in the Tarn.').waitFor()
    await on.open.click()
    await expect.poll(() => on.folder.inputValue()).toBe('FIRMWARE/WREN')
    await on.dialog.getByRole('button', { name: 'Cancel' }).click()
    await page.getByRole('button', { name: 'Take it back' }).click()
    await on.open.click()
    await expect.poll(() => on.folder.inputValue()).toBe('IMAGES')
    await on.dialog.getByRole('button', { name: 'Cancel' }).click()
  })

  it('says by which rules an image does not fit, and has no way past them', async () => {
    await on.option(/Heron 8, 1.7.0/).click()
    await on.open.click()
    await on.dialog.getByText('The image is for Tamsin Heron 8, not for Aldwick Wren 6.').waitFor()
    expect(await on.dialog.getByRole('button').allTextContents()).toEqual(['Choose another image'])
    expect(await axeFinds(page)).toEqual([])
    await on.dialog.getByRole('button', { name: 'Choose another image' }).click()
  })

  it('wants what is not known to be read before it goes on', async () => {
    await page.getByLabel('Receiver', { exact: true }).selectOption({ label: 'Wren with no markings' })
    await on.option(/Wren 6, 2.4.0/).click()
    await on.open.click()
    await on.dialog.getByText('The hardware revision of this receiver is not known').waitFor()
    await typeWord(on)
    await on.dialog.getByText('Say that you have read what speaks against it.').waitFor()
    expect(await on.put.isDisabled()).toBe(true)
    await on.dialog.getByRole('checkbox', { name: /I have read this/ }).check()
    await expect.poll(() => on.put.isEnabled()).toBe(true)
    await on.dialog.getByRole('button', { name: 'Cancel' }).click()
  })

  it('ran without errors, policy violations or requests to anywhere else', () => {
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
    expect(workbench.host.output()).toBe('')
  })
})

describe.skipIf(lacks('chromium'))('from a folder of downloads to the card', () => {
  let card: PullableCard
  let workbench: Workbench
  let page: Page

  beforeAll(async () => {
    card = pullableCard()
    workbench = await openWorkbench({
      host: await startCardHost(card.env),
      context: { viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await openFirmware(page)
  })
  afterAll(async () => {
    await workbench?.close()
    card.remove()
  })

  /** An archive with a good image, its image card, and an image of which one digit is another. */
  function downloads(): Buffer {
    const good = filesOf({ ...wrenSpec, version: '2.5.0', sequenceNumber: 25 })
    const lines = filesOf({ ...wrenSpec, version: '2.2.0', sequenceNumber: 22 }).hex.split('\n')
    lines[9] = `${lines[9].slice(0, 9)}${lines[9][9] === '0' ? '1' : '0'}${lines[9].slice(10)}`
    const text = (content: string) => new TextEncoder().encode(content)
    return Buffer.from(
      makeZip([
        { name: 'wren/wren-6-2.5.0.hex', content: text(good.hex) },
        { name: 'wren/wren-6-2.5.0.card.json', content: text(good.card) },
        { name: 'wren/wren-6-2.2.0.hex', content: text(lines.join('\n')) },
      ]),
    )
  }

  it('imports an archive with a damaged file, and finds the image for the receiver with no markings', async () => {
    const on = parts(page)
    await page.getByLabel('Receiver', { exact: true }).selectOption({ label: 'Wren with no markings' })
    const [chooser] = await Promise.all([
      page.waitForEvent('filechooser'),
      page.getByRole('button', { name: 'Import images…' }).click(),
    ])
    await chooser.setFiles({ name: 'downloads.zip', mimeType: 'application/zip', buffer: downloads() })
    const outcomes = page.getByRole('region', { name: 'What became of the files' })
    await outcomes.getByText(/line 10: The checksum/).waitFor()
    await outcomes.getByRole('button', { name: 'Close' }).click()
    const question = page.getByRole('region', { name: 'What to look up next' })
    // Which is asked first hangs on the images; both are printed on the receiver in the hand.
    const answers = [
      [/hardware revision/, 'B'],
      [/share the air/, 'listen-before-talk'],
    ] as const
    for (let i = 0; i < answers.length; i++) {
      const text = (await question.getByRole('heading').textContent()) ?? ''
      const [, answer] = answers.find(([asked]) => asked.test(text)) ?? []
      await question.getByRole('button', { name: answer ?? 'I don’t know', exact: true }).click()
      await expect.poll(() => question.filter({ hasText: text }).count()).toBe(0)
    }
    const best = page.getByRole('listbox', { name: 'Images, the best first' }).getByRole('option').first()
    await expect.poll(() => best.textContent()).toContain('wren-6-2.5.0.hex')
    expect(await best.textContent()).toContain('fits')
    await on.option(/wren-6-2\.5\.0\.hex/).click()
  })

  it('stages it, has the card pulled in the middle, and stages it again', async () => {
    const on = parts(page)
    await on.open.click()
    await expect.poll(() => on.volume('CLUB').isChecked()).toBe(true)
    const read = on.dialog.getByRole('checkbox', { name: /I have read this/ })
    await on.dialog
      .getByText(/octets/)
      .first()
      .waitFor()
    if ((await read.count()) > 0) await read.check()
    if ((await on.word.count()) > 0) await typeWord(on)
    await expect.poll(() => on.put.isEnabled()).toBe(true)
    card.onWrite(() => card.pull())
    await on.put.click()
    await on.dialog
      .getByRole('alert')
      .getByText(/The card is not there/)
      .waitFor()
    card.putIn()
    card.onWrite(() => {})
    await on.dialog.getByRole('button', { name: 'Stage again' }).click()
    await on.dialog.getByText('What was read back is the image, octet for octet.').waitFor()
    const staged = readFileSync(join(card.root, 'IMAGES', 'aldwick-wren-6-2.5.0.image'))
    expect(
      staged.equals(Buffer.from(buildImage({ ...wrenSpec, sequenceNumber: 25 }).segments[0].octets)),
    ).toBe(true)
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})

describe.skipIf(lacks('chromium')).each(['light', 'dark'] as const)(
  'staging by keyboard alone, %s',
  colorScheme => {
    let card: PullableCard
    let workbench: Workbench
    let page: Page

    beforeAll(async () => {
      card = pullableCard()
      workbench = await openWorkbench({
        host: await startCardHost(card.env),
        context: { viewport: { width: 1024, height: 700 }, colorScheme, reducedMotion: 'reduce' },
      })
      page = workbench.page
      page.setDefaultTimeout(20_000)
      await openFirmware(page)
    })
    afterAll(async () => {
      await workbench?.close()
      card.remove()
    })

    const focused = () =>
      page.evaluate(() => {
        const at = document.activeElement as HTMLInputElement | null
        return at?.labels?.[0]?.textContent ?? at?.textContent ?? ''
      })
    /** Goes on with the Tab key until what has the focus is called so. */
    async function tabTo(name: RegExp): Promise<void> {
      for (let i = 0; i < 60; i++) {
        if (name.test(await focused())) return
        await page.keyboard.press('Tab')
      }
      throw new Error(`the Tab key never comes to ${name}`)
    }

    it('gets from the view to the proof, and axe finds nothing on the way', async () => {
      const folder = testFolder('by-keyboard')
      const on = parts(page)
      await tabTo(/^Put it on the card…$/)
      await page.keyboard.press('Enter')
      await on.volume('CLUB').waitFor()
      await tabTo(/^CLUB/)
      // The arrow keys go through the volumes; the last is the folder whose path is typed.
      await page.keyboard.press('ArrowDown')
      await page.keyboard.press('Tab')
      await page.keyboard.type(folder.path)
      await tabTo(/^Folder/)
      await page.keyboard.press('Control+A')
      await page.keyboard.type('BY HAND')
      await tabTo(/digest word of this image/)
      const label = await focused()
      const at = ['first', 'second', 'third', 'fourth'].findIndex(place => label.includes(place))
      const words = await on.dialog
        .getByRole('row', { name: /^This image/ })
        .locator('code')
        .textContent()
      await page.keyboard.type(words!.split('-')[at])
      await on.dialog.getByText('This is only a folder, not a card.').waitFor()
      expect(await axeFinds(page)).toEqual([])
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(1024)
      await expect.poll(() => on.put.isEnabled()).toBe(true)
      await page.keyboard.press('Enter')
      await on.dialog.getByText('What was read back is the image, octet for octet.').waitFor()
      expect(await axeFinds(page)).toEqual([])
      expect(readFileSync(join(folder.path, 'BY HAND', NAME)).length).toBe(demoImage().payload.length)
      await tabTo(/^Done$/)
      await page.keyboard.press('Enter')
      await on.dialog.waitFor({ state: 'detached' })
      // And back to where it began.
      expect(await focused()).toBe('Put it on the card…')
      folder.remove()
    })

    it('shows a failure that axe finds nothing in', async () => {
      const on = parts(page)
      await page.keyboard.press('Enter')
      await expect.poll(() => on.volume('CLUB').isChecked()).toBe(true)
      await typeWord(on)
      card.onWrite(() => card.pull())
      await on.put.click()
      await on.dialog.getByRole('alert').waitFor()
      expect(await axeFinds(page)).toEqual([])
      await page.keyboard.press('Escape')
      await on.dialog.waitFor({ state: 'detached' })
    })
  },
)
