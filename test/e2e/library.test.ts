import { mkdirSync, renameSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { buildImage } from '../../shared/image/build.ts'
import { writeImageCard } from '../../shared/image/image-card.ts'
import { signCard } from '../../shared/image/signature.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'
import { filesOf, wrenSpec } from '../renderer/firmware/sources.ts'
import { axeFinds } from '../support/axe.ts'
import { openWorkbench, type Workbench } from '../support/browser.ts'
import { testFolder } from '../support/folder.ts'
import { lacks } from '../support/tools.ts'
import { makeZip } from '../support/zip.ts'

/** RFC 8032, section 7.1: the key pair of TEST 1, and the public key of TEST 2. */
const SECRET = Buffer.from('9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60', 'hex')
const TEST_1 = 'd75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a'
const TEST_2 = '3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c'
const KEY = 'aldwick-2026'

const built = (version: string, sequenceNumber: number) =>
  buildImage({ ...wrenSpec, version, sequenceNumber, sizeBytes: 8192 })
const signed = built('2.5.0', 25)
const signedCard = writeImageCard(signCard(signed.card, KEY, new Uint8Array(SECRET)))
const other = built('2.6.0', 26)
const damaged = writeIntelHex(built('2.2.0', 22).segments).replace(/\n:10/, '\n:11')
const padded = new Uint8Array(signed.segments[0].octets.length + 300).fill(0xff)
padded.set(signed.segments[0].octets)
const club = makeZip([
  { name: 'wren/2.5.0.hex', content: writeIntelHex(signed.segments) },
  { name: 'wren/2.5.0.card.json', content: signedCard },
  { name: 'wren/2.2.0.hex', content: damaged },
  { name: 'README.txt', content: 'Please read this first: it says how the images are used. '.repeat(4) },
  {
    name: 'wren/two.uf2',
    content: new Uint8Array([
      ...writeUf2(built('2.7.0', 27).segments, { familyId: 7 }),
      ...writeUf2(other.segments, { familyId: 0x5ee21072 }),
    ]),
  },
])

const parts = (page: Page) => ({
  option: (name: RegExp) => page.getByRole('option', { name }),
  outcomes: page.getByRole('region', { name: 'What became of the files' }),
  panel: page.getByRole('complementary', { name: 'Chosen image' }),
  proof: page.getByRole('region', { name: 'Where it comes from' }),
  tools: page.getByRole('region', { name: 'The library' }),
  news: page.getByRole('region', { name: 'From the watched folder' }),
  dialog: page.getByRole('dialog'),
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

async function importFile(page: Page, name: string, content: Uint8Array): Promise<void> {
  const [chooser] = await Promise.all([
    page.waitForEvent('filechooser'),
    page.getByRole('button', { name: 'Import images…' }).click(),
  ])
  await chooser.setFiles([{ name, mimeType: 'application/octet-stream', buffer: Buffer.from(content) }])
}

async function addKey(page: Page, publicKey: string): Promise<void> {
  const on = parts(page)
  await on.tools.getByRole('button', { name: 'Makers’ keys…' }).click()
  await on.dialog.getByLabel('Maker').fill('Aldwick')
  await on.dialog.getByLabel('Name of the key').fill(KEY)
  await on.dialog.getByLabel('Public key').fill(publicKey)
  await on.dialog.getByRole('button', { name: 'Add this key' }).click()
}

describe.skipIf(lacks('chromium'))('the library in the window', () => {
  const folder = testFolder('library-e2e')
  let workbench: Workbench
  let page: Page
  let on: ReturnType<typeof parts>

  beforeAll(async () => {
    const watched = join(folder.path, 'watched')
    mkdirSync(watched)
    workbench = await openWorkbench({
      context: { viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(15_000)
    on = parts(page)
    await openFirmware(page)
  })
  afterAll(async () => {
    await workbench?.close()
    folder.remove()
  })

  it('takes a ZIP archive apart: one damaged file keeps no other out, and is named by place, line and reason', async () => {
    await importFile(page, 'club.zip', club)
    await on.outcomes
      .getByRole('heading', { name: '4 files: 1 taken, 1 to choose, 1 not taken, 1 left aside' })
      .waitFor()
    const said = on.outcomes.getByRole('listitem')
    expect(await said.nth(1).textContent()).toContain('wren/2.2.0.hex in club.zip, line 2: The line says')
    expect(await said.nth(2).textContent()).toContain('With its image card.')
    expect(await said.nth(3).textContent()).toContain('README.txt')
    expect(await axeFinds(page)).toEqual([])
  })

  it('takes the image of the family that is chosen out of a UF2 file for several', async () => {
    await on.outcomes.getByRole('button', { name: '0x5EE21072', exact: true }).click()
    await on.option(/two-0x5EE21072\.uf2/).waitFor()
    await on.outcomes.getByRole('button', { name: '0x5EE21072', exact: true }).waitFor({ state: 'detached' })
    expect(await on.option(/two-0x5EE21072\.uf2/).textContent()).toContain('2.6.0')
    await on.outcomes.getByRole('button', { name: 'Close' }).click()
  })

  it('says of an image that is there already in another way what is the same', async () => {
    await importFile(page, 'padded.bin', padded)
    await on.outcomes
      .getByText('The same program as 2.5.0.hex, in another container; it differs only')
      .waitFor()
    await on.option(/padded\.bin/).click()
    expect(await on.proof.textContent()).toContain('The same program as 2.5.0.hex')
    expect(await on.option(/2\.5\.0\.hex/).textContent()).toContain('same program twice')
    await importFile(page, '2.5.0.bin', signed.segments[0].octets)
    await on.outcomes.getByText('The same program is there as 2.5.0.hex, in another container.').waitFor()
    await on.option(/2\.5\.0\.hex/).click()
    await on.proof.getByText('It also came as 2.5.0.bin, in another container (raw binary).').waitFor()
    await on.outcomes.getByRole('button', { name: 'Close' }).click()
  })

  it('takes a folder, with what lies in the folders in it', async () => {
    const downloads = join(folder.path, 'downloads')
    mkdirSync(join(downloads, 'old'), { recursive: true })
    const late = filesOf({ ...wrenSpec, version: '2.8.0', sequenceNumber: 28 })
    writeFileSync(join(downloads, 'old', 'wren-2.8.0.hex'), late.hex)
    writeFileSync(join(downloads, 'old', 'wren-2.8.0.card.json'), late.card)
    writeFileSync(join(downloads, 'broken.hex'), damaged)
    writeFileSync(join(downloads, 'notes.txt'), 'What I did on the bench last Sunday. '.repeat(4))
    await on.tools.getByLabel('A folder of image files').setInputFiles(downloads)
    await on.outcomes.getByRole('heading', { name: '3 files: 1 taken, 1 not taken, 1 left aside' }).waitFor()
    expect(await on.outcomes.getByRole('listitem').first().textContent()).toContain(
      'downloads/broken.hex, line 2',
    )
    await on.option(/wren-2\.8\.0\.hex/).waitFor()
    await on.outcomes.getByRole('button', { name: 'Close' }).click()
  })

  it('judges a signature by the makers’ keys, at once when they change', async () => {
    await on.option(/2\.5\.0\.hex/).click()
    await on.proof.getByText('signature not checked').waitFor()
    await addKey(page, '12')
    await on.dialog.getByText('Expected: an Ed25519 public key: 64 hexadecimal digits.').waitFor()
    await on.dialog.getByLabel('Public key').fill(TEST_2)
    await page.keyboard.press('Enter')
    await on.dialog.getByText(`The key ${KEY} is trusted now.`).waitFor()
    expect(await axeFinds(page)).toEqual([])
    await on.dialog.getByRole('button', { name: 'Close' }).click()
    await on.proof.getByText('signature wrong').waitFor()
    await on.option(/2\.5\.0\.hex.*does not fit/).waitFor()
    await on.tools.getByRole('button', { name: 'Makers’ keys…' }).click()
    await on.dialog.getByRole('button', { name: `Remove the key ${KEY}` }).click()
    await on.dialog.getByText('No key is trusted yet.').waitFor()
    await on.dialog.getByRole('button', { name: 'Take it back' }).click()
    await on.dialog.getByRole('row', { name: /Aldwick aldwick-2026/ }).waitFor()
    await on.dialog.getByRole('button', { name: `Remove the key ${KEY}` }).click()
    await page.keyboard.press('Escape')
    await addKey(page, TEST_1.replaceAll(/(..)/g, '$1 '))
    await on.dialog.getByRole('row', { name: /Aldwick aldwick-2026/ }).waitFor()
    await page.keyboard.press('Escape')
    await on.proof.getByText('Signed by Aldwick with the key aldwick-2026, which you trust.').waitFor()
    await on.option(/2\.5\.0\.hex.*fits/).waitFor()
  })

  it('says what becomes of the signature when the card is changed by hand', async () => {
    await on.panel.getByRole('button', { name: 'Change its image card…' }).click()
    await on.dialog.getByText('When you change it, the signature no longer covers it').waitFor()
    await on.dialog.getByRole('button', { name: 'Keep as its image card' }).click()
    await on.proof.getByText('Its image card was changed by hand').waitFor()
    await page.getByRole('button', { name: 'Take it back' }).click()
    await on.proof.getByText('signature good').waitFor()
  })

  it('takes in what comes into the watched folder, by keyboard alone, and says quietly what failed', async () => {
    const watched = join(folder.path, 'watched')
    await on.tools.getByRole('button', { name: 'Watched folder…' }).focus()
    await page.keyboard.press('Enter')
    await on.dialog.getByRole('textbox', { name: 'Folder' }).waitFor()
    expect(await axeFinds(page)).toEqual([])
    await on.dialog.getByRole('textbox', { name: 'Folder' }).fill(join(folder.path, 'nowhere'))
    await page.keyboard.press('Enter')
    await on.dialog.getByText('There is no such folder.').waitFor()
    await on.dialog.getByRole('textbox', { name: 'Folder' }).fill(folder.path)
    await page.keyboard.press('Enter')
    await on.dialog.getByRole('button', { name: 'watched', exact: true }).focus()
    await page.keyboard.press('Enter')
    await expect.poll(() => on.dialog.getByRole('textbox', { name: 'Folder' }).inputValue()).toBe(watched)
    await on.dialog.getByRole('button', { name: 'Watch this folder' }).focus()
    await page.keyboard.press('Enter')
    await on.dialog.waitFor({ state: 'detached' })
    const late = filesOf({ ...wrenSpec, version: '2.9.0', sequenceNumber: 29 })
    writeFileSync(join(watched, 'wren-2.9.0.hex'), late.hex)
    writeFileSync(join(watched, 'wren-2.9.0.card.json'), late.card)
    writeFileSync(join(watched, 'zz-broken.hex'), damaged)
    await on.option(/wren-2\.9\.0\.hex/).waitFor({ timeout: 30_000 })
    await on.news.getByText(/1 file could not be taken in/).waitFor()
    expect(await on.news.textContent()).toContain('zz-broken.hex, line 2')
    expect(await axeFinds(page)).toEqual([])
    await on.news.getByRole('button', { name: 'Close' }).click()
    await on.news.waitFor({ state: 'detached' })
  })

  it('says when the watched folder is gone, and when it is back', async () => {
    const watched = join(folder.path, 'watched')
    renameSync(watched, `${watched}-away`)
    await on.news.getByText('watched folder not there').waitFor({ timeout: 30_000 })
    renameSync(`${watched}-away`, watched)
    await on.news.waitFor({ state: 'detached', timeout: 30_000 })
    await on.tools.getByRole('button', { name: 'Watched folder…' }).click()
    await on.dialog.getByText('watched now').waitFor()
    await on.dialog.getByRole('button', { name: 'Stop watching' }).click()
    await on.dialog.waitFor({ state: 'detached' })
  })

  it('stops an import on request; what was taken before stays', async () => {
    const many = Array.from({ length: 400 }, (_, n) => ({
      name: `many/${n}.hex`,
      content: writeIntelHex([{ address: 0, octets: new Uint8Array(2048).fill(n % 251, n % 2000) }]),
    }))
    await importFile(page, 'many.zip', makeZip(many))
    await page.getByRole('button', { name: 'Stop', exact: true }).click()
    const heading = on.outcomes.getByRole('heading', { name: /not read/ })
    await heading.waitFor()
    const taken = Number(/(\d+) taken/.exec((await heading.textContent()) ?? '')?.[1] ?? 0)
    expect(taken).toBeLessThan(400)
    await on.outcomes.getByText('You stopped the import. What was taken before is in the library.').waitFor()
    await on.outcomes.getByRole('button', { name: 'Close' }).click()
  })

  it('leaves no trouble behind', () => {
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})

describe.skipIf(lacks('chromium')).each(['light', 'dark'] as const)(
  'the library’s dialogs, %s and small',
  colorScheme => {
    let workbench: Workbench
    let page: Page

    beforeAll(async () => {
      workbench = await openWorkbench({
        context: { viewport: { width: 1024, height: 700 }, colorScheme, reducedMotion: 'reduce' },
      })
      page = workbench.page
      page.setDefaultTimeout(15_000)
      await openFirmware(page)
    })
    afterAll(async () => workbench?.close())

    it('axe finds nothing, and nothing is cut off', async () => {
      const on = parts(page)
      await importFile(page, 'club.zip', club)
      await on.outcomes.getByText('With its image card.').waitFor()
      expect(await axeFinds(page)).toEqual([])
      await addKey(page, TEST_1)
      await on.dialog.getByRole('row', { name: /Aldwick aldwick-2026/ }).waitFor()
      expect(await axeFinds(page)).toEqual([])
      await page.keyboard.press('Escape')
      await on.tools.getByRole('button', { name: 'Watched folder…' }).click()
      await on.dialog.getByRole('list').waitFor()
      expect(await axeFinds(page)).toEqual([])
      const wide = await page.evaluate(() => {
        const root = document.documentElement
        return [root.scrollWidth - root.clientWidth, root.scrollHeight - root.clientHeight]
      })
      expect(wide).toEqual([0, 0])
    })
  },
)
