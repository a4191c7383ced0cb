import type { Locator, Page } from 'playwright-core'
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { axeFinds } from '../support/axe.ts'
import { openWorkbench, type Workbench } from '../support/browser.ts'
import { lacks } from '../support/tools.ts'

describe.skipIf(lacks('chromium'))('the fleet', () => {
  let workbench: Workbench
  let page: Page

  beforeAll(async () => {
    workbench = await openWorkbench({ context: { viewport: { width: 1280, height: 800 } } })
    page = workbench.page
  })
  afterAll(async () => workbench?.close())

  beforeEach(async () => {
    await page.evaluate(() => localStorage.clear())
    await page.reload()
    await page.getByRole('button', { name: 'Open the demo bench' }).click()
    // What the test before has changed was kept, and is asked about.
    const giveUp = page.getByRole('button', { name: 'Go on without saving' })
    const fleet = page.getByRole('heading', { name: 'Fleet', level: 1 })
    await fleet.or(giveUp).first().waitFor()
    if (await giveUp.isVisible()) await giveUp.click()
    await fleet.waitFor()
    // The part and the filters that the test before has left are there again.
    await button('What binds with what').click()
    const all = page.getByRole('button', { name: /^Show all/ })
    if (await all.first().isVisible()) await all.first().click()
    await matrix().waitFor()
  })

  const matrix = () => page.getByRole('grid', { name: 'What binds with what' })
  const row = (name: RegExp) => matrix().getByRole('row', { name })
  const bodyRows = () => matrix().locator('tbody tr')
  const side = () => page.getByRole('complementary', { name: 'Chosen receiver' })
  const button = (name: string, within: Page | Locator = page) =>
    within.getByRole('button', { name, exact: true })
  const dialog = () => page.getByRole('dialog')
  const toKind = async (name: RegExp) => {
    await button('Everything on the bench').click()
    await page.getByRole('navigation', { name: 'Kinds of things' }).getByRole('button', { name }).click()
  }

  it('shows every receiver, and says in words which are out of step', async () => {
    expect(await bodyRows().count()).toBe(17)
    expect(await page.getByText('17 receivers, 6 out of step, 2 not known').count()).toBe(1)
    expect(await row(/Heron in the helicopter/).textContent()).toContain('out of step')
    expect(await row(/Wren in the club trainer/).textContent()).not.toContain('out of step')
    expect(await row(/Wren with no markings/).textContent()).toContain('In no model')
  })

  it('explains the chosen receiver in sentences, with what was looked at', async () => {
    await row(/Heron in the helicopter/).click()
    await side().getByRole('heading', { name: 'Heron in the helicopter' }).waitFor()
    const finding = side().getByRole('article', { name: "The module is set for the receiver's generation." })
    const text = await finding.textContent()
    expect(text).toContain('The module is set for generation 3, the receiver listens for 2.')
    expect(text).toContain('Module is set for3')
    expect(text).toContain('common practice')
  })

  it('finds by search, by radio, and by what is not in step', async () => {
    await page.getByRole('searchbox', { name: 'Search the fleet' }).fill('heron tug')
    await expect.poll(() => bodyRows().count()).toBe(1)
    expect(await bodyRows().textContent()).toContain('Heron in the scale tug')
    await page.getByRole('searchbox', { name: 'Search the fleet' }).fill('no such thing')
    await button('Show all receivers').click()
    await page.getByLabel('Only what is not in step').check()
    await expect.poll(() => bodyRows().count()).toBe(8)
    await page.getByLabel('Radio', { exact: true }).selectOption({ label: 'Old Fell' })
    await expect.poll(() => bodyRows().count()).toBe(3)
    expect(await bodyRows().allTextContents()).toEqual(Array(3).fill(expect.stringContaining('Finch')))
    expect(await matrix().locator('.fleet-module').allTextContents()).toEqual([
      expect.stringContaining('Module of the Fell'),
    ])
  })

  it('goes through the rows with the arrow keys, and opens with Enter', async () => {
    await row(/Wren in the club trainer/).focus()
    await page.keyboard.press('ArrowDown')
    await side().getByRole('heading', { name: 'Wren in the thermal glider' }).waitFor()
    await page.keyboard.press('End')
    await side().getByRole('heading', { name: 'From the flea market, no markings' }).waitFor()
    await page.keyboard.press('Home')
    await page.keyboard.press('Enter')
    await dialog().getByRole('heading', { name: 'Wren in the club trainer' }).waitFor()
    await page.keyboard.press('Escape')
    await dialog().waitFor({ state: 'detached' })
    expect(await page.evaluate(() => document.activeElement?.textContent)).toContain(
      'Wren in the club trainer',
    )
  })

  it('applies a remedy with one click, says what it does to others, and takes it back', async () => {
    await row(/Heron in the helicopter/).click()
    expect(await side().textContent()).toContain(
      'Puts out of step: Wren in the pylon racer, Wren in the quad.',
    )
    await button('Set the module for generation 2', side()).click()
    await expect.poll(() => row(/Heron in the helicopter/).textContent()).not.toContain('out of step')
    expect(await row(/Wren in the pylon racer/).textContent()).toContain('out of step')
    expect(await button('Undo').getAttribute('title')).toContain('Set the module for generation 2')
    await page.keyboard.press('Control+z')
    await expect.poll(() => row(/Heron in the helicopter/).textContent()).toContain('out of step')
    expect(await row(/Wren in the pylon racer/).textContent()).not.toContain('out of step')
  })

  it('says at the field what is wrong with a firmware, and takes a good one', async () => {
    await row(/New Wren/).click()
    await button('Open', side()).click()
    const firmware = dialog().getByRole('textbox', { name: 'Firmware', exact: true })
    await firmware.fill('2.4')
    await button('Keep changes', dialog()).click()
    await dialog().getByText('This has to be a version such as 2.3.1, or “not known”.').waitFor()
    expect(await firmware.getAttribute('aria-invalid')).toBe('true')
    expect(await firmware.evaluate(node => node === document.activeElement)).toBe(true)
    const said = await firmware.evaluate(
      node => document.getElementById(node.getAttribute('aria-describedby') ?? '')?.textContent,
    )
    expect(said).toContain('This has to be a version')
    await firmware.fill('2.4.0')
    expect(await firmware.getAttribute('aria-invalid')).toBeNull()
    await button('Keep changes', dialog()).click()
    await dialog().waitFor({ state: 'detached' })
    await expect.poll(() => row(/New Wren/).textContent()).toContain('2.4.0')
    expect(await row(/New Wren/).textContent()).not.toContain('out of step')
    expect(await button('Undo').getAttribute('title')).toContain('Change New Wren, still in its bag')
  })

  it('takes “not known” for an answer, and then does not call the receiver in step', async () => {
    await row(/Wren in the club trainer/).click()
    await button('Open', side()).click()
    await dialog().getByLabel('Firmware: not known').check()
    await button('Keep changes', dialog()).click()
    await expect.poll(() => row(/Wren in the club trainer/).textContent()).toContain('not known')
    expect(await page.getByText('17 receivers, 6 out of step, 3 not known').count()).toBe(1)
  })

  it('adds a receiver by copying, chooses it, and deletes it again', async () => {
    await row(/Wren in the club trainer/).click()
    await button('Copy', side()).click()
    await dialog().getByRole('textbox', { name: 'Name', exact: true }).fill('Spare Wren')
    await button('Add the receiver', dialog()).click()
    await side().getByRole('heading', { name: 'Spare Wren' }).waitFor()
    expect(await bodyRows().count()).toBe(18)
    expect(await row(/Spare Wren/).textContent()).toContain('In no model')
    await button('Delete', side()).click()
    await expect.poll(() => bodyRows().count()).toBe(17)
    expect(await button('Undo').getAttribute('title')).toContain('Delete Spare Wren')
  })

  it('refuses to delete a module in use, and leads to what uses it', async () => {
    await toKind(/^Modules/)
    const list = page.getByRole('grid', { name: 'Modules' })
    await list.getByRole('row', { name: /Long-range module/ }).click()
    await button('Delete').click()
    await dialog().getByRole('heading', { name: 'Long-range module of the Tarn is in use' }).waitFor()
    expect(await dialog().getByRole('listitem').allTextContents()).toEqual([
      expect.stringContaining('Curlew in the survey wing'),
      expect.stringContaining('Survey wing'),
      expect.stringContaining('Club Tarn'),
    ])
    await button('Open Survey wing', dialog()).click()
    await dialog().getByRole('heading', { name: 'Survey wing' }).waitFor()
    await button('Cancel', dialog()).click()
    expect(await list.locator('tbody tr').count()).toBe(4)
  })

  it('explains what is chosen in a list, with what refers to it a step away', async () => {
    await toKind(/^Modules/)
    const panel = page.getByRole('complementary', { name: 'Chosen module' })
    await panel.getByText('Choose a module').waitFor()
    await page
      .getByRole('grid', { name: 'Modules' })
      .getByRole('row', { name: /Module of the Fell/ })
      .click()
    await panel.getByRole('heading', { name: 'Module of the Fell' }).waitFor()
    expect(await panel.locator('dl div').allTextContents()).toEqual(
      expect.arrayContaining(['Firmware3.4.0', 'Band2.4 GHz', 'Set for generation2']),
    )
    await button('Open Old Fell', panel).click()
    await dialog().getByRole('heading', { name: 'Old Fell' }).waitFor()
    await button('Cancel', dialog()).click()
    await toKind(/^Cables/)
    await page
      .getByRole('grid')
      .getByRole('row', { name: /without the positive/ })
      .click()
    await page.getByText('nothing, so it can be deleted').waitFor()
  })

  it.each([
    /^Receivers/,
    /^Models/,
    /^Modules/,
    /^Radios/,
    /^Supplies/,
    /^Cables/,
    /^Adapters/,
    /^Cards/,
    /^Sensors/,
    /^Receiver types/,
    /^Module types/,
    /^Radio types/,
    /^Connectors/,
    /^Pairings/,
    /^Images/,
  ])('opens one of %s and keeps it unchanged, and starts a new one', async kind => {
    await toKind(kind)
    const first = page.getByRole('grid').locator('tbody tr').first()
    const before = await first.textContent()
    await first.focus()
    await page.keyboard.press('Enter')
    await button('Keep changes', dialog()).click()
    await dialog().waitFor({ state: 'detached' })
    expect(await first.textContent()).toBe(before)
    await page.getByRole('button', { name: /^New / }).click()
    await dialog()
      .getByRole('button', { name: /^Add the / })
      .click()
    await dialog()
      .getByText(/needs? another look\.$/)
      .waitFor()
    await page.keyboard.press('Escape')
    await dialog().waitFor({ state: 'detached' })
  })

  it('edits the wires of a cable row by row', async () => {
    await toKind(/^Cables/)
    const first = page.getByRole('grid').locator('tbody tr').first()
    await first.dblclick()
    await button('Take out wires, 2', dialog()).click()
    await button('Keep changes', dialog()).click()
    await expect.poll(() => first.textContent()).toContain('signal to signal, negative to negative')
  })

  it('changes the distance on the table', async () => {
    await toKind(/^Name and wiring/)
    await button('Change').click()
    await dialog().getByRole('textbox', { name: 'Radio and receiver lie apart' }).fill('0')
    await button('Keep changes', dialog()).click()
    await dialog().getByText('This has to be at least 0.01 m.').waitFor()
    await dialog().getByRole('textbox', { name: 'Radio and receiver lie apart' }).fill('3,5')
    await button('Keep changes', dialog()).click()
    await page.getByText('3.5 m').waitFor()
  })

  it('leads to the rehearsal of the chosen receiver', async () => {
    await row(/Wren in the quad/).click()
    await button('Rehearse an update', side()).click()
    await page.getByRole('form', { name: 'Set up the rehearsal' }).waitFor()
    expect(await page.getByRole('main').textContent()).toContain('Wren in the quad')
  })

  it.each(['light', 'dark'])('gives axe nothing to find, in %s', async theme => {
    const found = async () => {
      await page.evaluate(t => {
        document.documentElement.dataset.theme = t
      }, theme)
      return axeFinds(page)
    }
    await row(/Finch in the foam wing/).click()
    await side()
      .getByText(/^What holds/)
      .click()
    await side()
      .getByText(/^With the other modules/)
      .click()
    expect(await found()).toEqual([])
    await button('Open', side()).click()
    await dialog().getByRole('textbox', { name: 'Firmware', exact: true }).fill('x')
    await button('Keep changes', dialog()).click()
    await dialog()
      .getByText(/^One field/)
      .waitFor()
    expect(await found()).toEqual([])
    await page.keyboard.press('Escape')
    for (const kind of [/^Models/, /^Receiver types/, /^Connectors/]) {
      await toKind(kind)
      expect(await found()).toEqual([])
      await page.getByRole('grid').locator('tbody tr').first().dblclick()
      expect(await found()).toEqual([])
      await page.keyboard.press('Escape')
    }
    await toKind(/^Name and wiring/)
    expect(await found()).toEqual([])
  })

  it('runs without errors, policy violations or requests to anywhere else', () => {
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})
