import { readFileSync } from 'node:fs'
import type { Locator, Page } from 'playwright-core'
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { readSheet } from '../../shared/sheet/read-sheet.ts'
import { axeFinds } from '../support/axe.ts'
import { openWorkbench, type Workbench } from '../support/browser.ts'
import { lacks } from '../support/tools.ts'

const TABLE = [
  'Name\tType\tFW\tGen\tModel\tColour',
  'Spare Wren\tWren 6\t2.3.1\t3\t\tred',
  'Odd one\tPlover 9\t\t\t\t',
  '\tWren 6\t2.3.1\t3\t\t',
].join('\n')

describe.skipIf(lacks('chromium'))('type sheets and tables', () => {
  let workbench: Workbench
  let page: Page

  beforeAll(async () => {
    workbench = await openWorkbench({ context: { viewport: { width: 1280, height: 800 } } })
    page = workbench.page
    page.setDefaultTimeout(20_000)
  })
  afterAll(async () => workbench?.close())

  beforeEach(async () => {
    await page.reload()
    await button('Open the demo bench').click()
    const giveUp = button('Go on without saving')
    const fleet = page.getByRole('heading', { name: 'Fleet', level: 1 })
    await fleet.or(giveUp).first().waitFor()
    if (await giveUp.isVisible()) await giveUp.click()
    await button('Everything on the bench').click()
  })

  const button = (name: string, within: Page | Locator = page) =>
    within.getByRole('button', { name, exact: true })
  const dialog = () => page.getByRole('dialog')
  const grid = () => page.getByRole('grid')
  const gone = () => dialog().waitFor({ state: 'detached' })
  const toKind = (name: RegExp) =>
    page.getByRole('navigation', { name: 'Kinds of things' }).getByRole('button', { name }).click()
  const group = (name: string) => dialog().getByRole('region', { name })
  const choose = (name: string, text: string) =>
    page
      .getByLabel('Type sheet')
      .setInputFiles({ name, mimeType: 'application/json', buffer: Buffer.from(text) })

  /** What the dialog writes for one receiver type, and for what it needs. */
  async function exported(): Promise<string> {
    await toKind(/^Receiver types/)
    await grid()
      .getByRole('row', { name: /Wren 6/ })
      .click()
    await button('Export types…').click()
    await dialog().getByRole('textbox', { name: 'Your name' }).fill('A. Marsh')
    const saved = page.waitForEvent('download')
    await button('Write the sheet', dialog()).click()
    const file = await saved
    expect(file.suggestedFilename()).toBe('Aldwick-Wren-6.types.json')
    await gone()
    return readFileSync(await file.path(), 'utf8')
  }

  /** The sheet as somebody else would send it: two fields of the type say something else. */
  function changed(text: string): string {
    const sheet = JSON.parse(text)
    const type = sheet.receiverTypes[0]
    type.channels = 8
    type.supply.leastVolts = 3.7
    sheet.receiverTypes.push({ ...type, id: 'aldwick-plover-9', name: 'Plover 9' })
    return JSON.stringify(sheet)
  }

  it('exports a type with what it needs, as a sheet that reads back', async () => {
    const text = await exported()
    const read = readSheet(text, 'mine')
    if (!read.ok) throw new Error(read.problems[0].message)
    const mine = demoBench().catalogue.receiverTypes.find(type => type.id === 'aldwick-wren-6')
    expect(read.value).toMatchObject({ title: 'Aldwick Wren 6', author: 'A. Marsh' })
    expect(read.value.receiverTypes).toHaveLength(1)
    expect(read.value.receiverTypes[0]).toMatchObject({ channels: mine?.channels, supply: mine?.supply })
    expect(read.value.connectors.map(plug => plug.id)).toEqual([mine?.connectorId])
    await page.getByText('Written: Aldwick-Wren-6.types.json').waitFor()
  })

  it('sets two accounts of one type side by side, takes one field of theirs, and takes it back', async () => {
    const before = demoBench().catalogue.receiverTypes.find(type => type.id === 'aldwick-wren-6')
    await choose('theirs.types.json', changed(await exported()))
    await dialog().getByRole('heading', { name: 'Import “Aldwick Wren 6”' }).waitFor()
    const wren = group('In conflict').getByRole('article', { name: 'Aldwick Wren 6' })
    expect(await wren.getByRole('radio', { name: 'Keep mine' }).isChecked()).toBe(true)
    expect(await wren.locator('tbody tr').count()).toBe(2)
    await wren.getByRole('radio', { name: /^Channels: theirs, 8/ }).check()
    await wren.getByText('field by field').waitFor()
    await group('New').getByText('Plover 9').waitFor()
    await dialog().getByText('Adds 1, changes 1').waitFor()
    await button('Import', dialog()).click()
    await gone()
    await toKind(/^Receiver types/)
    await grid()
      .getByRole('row', { name: /Plover 9/ })
      .waitFor()
    const panel = page.getByRole('complementary', { name: 'Chosen receiver type' })
    await panel.getByRole('heading', { name: 'Aldwick Wren 6' }).waitFor()
    const facts = () => panel.locator('dl div').allTextContents()
    expect(await facts()).toEqual(
      expect.arrayContaining(['Channels8', `Needs at least${before?.supply.leastVolts} V`]),
    )
    await page.keyboard.press('Control+z')
    await expect
      .poll(() =>
        grid()
          .getByRole('row', { name: /Plover 9/ })
          .count(),
      )
      .toBe(0)
    expect(await facts()).toContain(`Channels${before?.channels}`)
  })

  it('says before it is done which receivers fall out of step', async () => {
    const sheet = JSON.parse(await exported())
    sheet.receiverTypes[0].supply.leastVolts = 20
    sheet.receiverTypes[0].supply.mostVolts = 30
    sheet.receiverTypes[0].bands = ['868MHz']
    await choose('theirs.types.json', JSON.stringify(sheet))
    await dialog().getByRole('radio', { name: 'Take theirs' }).check()
    await group('What it changes for your receivers').getByText('Wren in the club trainer').waitFor()
    await button('Cancel', dialog()).click()
    await gone()
    expect(await button('Undo').isDisabled()).toBe(true)
  })

  it('names line and field of a bad sheet, and leaves the bench alone', async () => {
    const text = (await exported()).replace(/"channels": \d+/, '"channels": "many"')
    await choose('bad.types.json', text)
    await dialog().getByRole('heading', { name: 'This file cannot be imported' }).waitFor()
    const line = text.slice(0, text.indexOf('"channels"')).split('\n').length
    await dialog()
      .getByText(new RegExp(`bad\\.types\\.json, line ${line}, .*channels`))
      .waitFor()
    await button('Close', dialog()).click()
  })

  it('adds the good rows of a table in one step, and says what is wrong with the others', async () => {
    await toKind(/^Receivers/)
    await button('Paste a table…').click()
    await dialog().getByRole('textbox', { name: 'Table' }).fill(TABLE)
    const rows = group('Rows').getByRole('listitem')
    await expect.poll(() => rows.count()).toBe(3)
    const said = await rows.allTextContents()
    expect(said[0]).toContain('fine')
    expect(said[1]).toContain('there is no type “Plover 9”, so it stays not known')
    expect(said[2]).toContain('cannot be added')
    expect(said[2]).toContain('It has no name.')
    expect(await dialog().getByRole('combobox', { name: '“Colour” is' }).inputValue()).toBe('')
    await dialog().getByText('2 of 3 rows will be added, 1 left out').waitFor()
    await button('Add 2 receivers', dialog()).click()
    await gone()
    expect(
      await grid()
        .getByRole('row', { name: /Spare Wren/ })
        .textContent(),
    ).toContain('2.3.1')
    expect(
      await grid()
        .getByRole('row', { name: /Odd one/ })
        .textContent(),
    ).toContain('not known')
    await page.keyboard.press('Control+z')
    await expect
      .poll(() =>
        grid()
          .getByRole('row', { name: /Spare Wren|Odd one/ })
          .count(),
      )
      .toBe(0)
  })

  it('adds several of one type, finds them and adds no more, all by keyboard', async () => {
    await toKind(/^Receiver types/)
    const search = page.getByRole('searchbox', { name: 'Search receiver types' })
    await search.focus()
    await page.keyboard.type('wren')
    await expect.poll(() => grid().locator('tbody tr').count()).toBe(1)
    await page.keyboard.press('ArrowDown')
    await page.keyboard.press('Space')
    const several = button('Add receivers…')
    for (let n = 0; n < 12 && !(await several.evaluate(b => b === document.activeElement)); n++)
      await page.keyboard.press('Shift+Tab')
    await page.keyboard.press('Enter')
    await dialog().getByRole('heading', { name: 'Add several: Aldwick Wren 6' }).waitFor()
    await dialog().getByText('Wren 6 no. 1, Wren 6 no. 2, Wren 6 no. 3').waitFor()
    await page.keyboard.press('Enter')
    await gone()
    await expect
      .poll(() =>
        grid()
          .getByRole('row', { name: /^Wren 6 no\. [123]/ })
          .count(),
      )
      .toBe(3)
    await page.keyboard.press('Control+z')
    await expect
      .poll(() =>
        grid()
          .getByRole('row', { name: /^Wren 6 no\. [123]/ })
          .count(),
      )
      .toBe(0)
    await toKind(/^Receiver types/)
    expect(await search.inputValue()).toBe('wren')
    await button('Show all').click()
    expect(await search.inputValue()).toBe('')
  })

  it('is as it was left after a restart: the part, the kind of thing, the filters', async () => {
    await toKind(/^Receivers/)
    await page.getByRole('searchbox', { name: 'Search receivers' }).fill('heron')
    await page.getByRole('combobox', { name: 'Type of the receivers' }).selectOption('Tamsin Heron 8')
    const herons = demoBench().receivers.filter(r => r.typeId === 'tamsin-heron-8').length
    await expect.poll(() => grid().locator('tbody tr').count()).toBe(herons)
    await page.reload()
    await button('Open the demo bench').click()
    await page.getByText(`${herons} of ${demoBench().receivers.length} shown.`).waitFor()
    expect(await page.getByRole('searchbox', { name: 'Search receivers' }).inputValue()).toBe('heron')
    await button('Show all').click()
    await expect.poll(() => grid().locator('tbody tr').count()).toBe(demoBench().receivers.length)
  })

  it('takes a sheet and a table that are dropped on the view', async () => {
    const text = await exported()
    await drop('theirs.types.json', changed(text))
    await dialog().getByRole('heading', { name: 'Import “Aldwick Wren 6”' }).waitFor()
    await page.keyboard.press('Escape')
    await gone()
    await toKind(/^Receivers/)
    await drop('fleet.csv', 'Name,Type\n"Wren, spare",Wren 6\n')
    await group('Rows').getByText('Wren, spare').waitFor()
    await page.keyboard.press('Escape')
    await gone()
  })

  const drop = (name: string, text: string) =>
    page.evaluate(
      ([fileName, content]) => {
        const dataTransfer = new DataTransfer()
        dataTransfer.items.add(new File([content], fileName))
        document.body.dispatchEvent(new DragEvent('drop', { dataTransfer, bubbles: true, cancelable: true }))
      },
      [name, text],
    )

  it.each(['light', 'dark'])('gives axe nothing to find, in %s', async theme => {
    const found = async () => {
      await page.evaluate(t => {
        document.documentElement.dataset.theme = t
      }, theme)
      return axeFinds(page)
    }
    const text = await exported()
    await button('Export types…').click()
    expect(await found()).toEqual([])
    await page.keyboard.press('Escape')
    await choose('theirs.types.json', changed(text))
    await dialog().getByRole('radio', { name: 'Take theirs' }).check()
    expect(await found()).toEqual([])
    await page.keyboard.press('Escape')
    await choose('bad.types.json', '{}')
    await dialog().waitFor()
    expect(await found()).toEqual([])
    await page.keyboard.press('Escape')
    await grid()
      .getByRole('row', { name: /Wren 6/ })
      .click()
    await button('Add receivers…').click()
    expect(await found()).toEqual([])
    await page.keyboard.press('Escape')
    await toKind(/^Receivers/)
    await button('Paste a table…').click()
    await dialog().getByRole('textbox', { name: 'Table' }).fill(TABLE)
    await group('Rows').waitFor()
    expect(await found()).toEqual([])
    await page.keyboard.press('Escape')
  })

  it('runs without errors, policy violations or requests to anywhere else', () => {
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})
