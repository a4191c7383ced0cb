import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Locator, Page } from 'playwright-core'
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { readBench, writeBench } from '../../shared/model/bench.ts'
import { axeFinds } from '../support/axe.ts'
import { openWorkbench, savedText, type Workbench } from '../support/browser.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'
import { lacks } from '../support/tools.ts'

describe.skipIf(lacks('chromium'))('bench files in the window', () => {
  let folder: TestFolder
  let workbench: Workbench
  let page: Page

  const button = (name: string | RegExp, within: Page | Locator = page) =>
    within.getByRole('button', { name, exact: true })
  const top = () => page.getByRole('banner')
  const dialog = () => page.getByRole('dialog')
  const row = (name: RegExp) => page.getByRole('grid').getByRole('row', { name })
  const fileOf = (name: string) => join(workbench.host.dataFolder, 'benches', `${name}.preflash.json`)
  const said = (text: string | RegExp) => top().getByRole('status').filter({ hasText: text }).waitFor()
  const goHome = () => page.getByRole('navigation', { name: 'Views' }).getByText('Benches').click()
  const rename = async (to: string) => {
    await row(/Wren in the club trainer|Trainer/)
      .first()
      .dblclick()
    await dialog().getByRole('textbox', { name: 'Name', exact: true }).fill(to)
    await button('Keep changes', dialog()).click()
    await dialog().waitFor({ state: 'detached' })
  }
  /** A file of the person's own disk, by the file dialog. */
  const choose = async (fileName: string, text: string) => {
    const path = join(folder.path, fileName)
    writeFileSync(path, text)
    const chooser = page.waitForEvent('filechooser')
    await button('Open a file…').click()
    await (await chooser).setFiles(path)
  }
  const dropText = async (fileName: string, text: string) => {
    const transfer = await page.evaluateHandle(
      ([name, content]) => {
        const dropped = new DataTransfer()
        dropped.items.add(new File([content], name))
        return dropped
      },
      [fileName, text] as const,
    )
    await page.locator('body').dispatchEvent('drop', { dataTransfer: transfer })
  }
  /** Long enough for the window to have kept the draft. */
  const draftIs = (there: boolean) =>
    expect
      .poll(() => {
        try {
          return readFileSync(join(workbench.host.dataFolder, 'draft.json'), 'utf8').length > 0
        } catch {
          return false
        }
      })
      .toBe(there)

  beforeAll(() => {
    folder = testFolder('benches')
  })
  afterAll(() => folder?.remove())

  beforeEach(async () => {
    workbench = await openWorkbench({ context: { viewport: { width: 1280, height: 800 } } })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await button('Open the demo bench').waitFor()
    return async () => {
      expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
      await workbench.close()
    }
  })

  it('changes a receiver, takes it back, does it again, saves it and opens it anew', async () => {
    await button('Open the demo bench').click()
    await rename('Trainer A')
    await page.keyboard.press('Control+z')
    await said('Undone: Change Wren in the club trainer')
    await row(/Wren in the club trainer/).waitFor()
    await page.keyboard.press('Control+y')
    await said('Done again: Change Wren in the club trainer')
    await row(/Trainer A/).waitFor()

    await page.keyboard.press('Control+s')
    await dialog().getByRole('textbox', { name: 'Name' }).fill('Our club')
    await page.keyboard.press('Enter')
    await top().getByText('saved in Our club.preflash.json').waitFor()
    const kept = readBench(readFileSync(fileOf('Our club'), 'utf8'), 'Our club')
    expect(kept.ok && kept.value.receivers.map(r => r.nickname)).toContain('Trainer A')

    await rename('Trainer B')
    await top().getByText('unsaved changes in Our club.preflash.json').waitFor()
    expect(await page.title()).toBe('• Marsh Lane club – Preflash')
    await page.keyboard.press('Control+s')
    await said('Saved.')

    await page.reload()
    await button(/^Marsh Lane club/).click()
    await row(/Trainer B/).waitFor()
    await top().getByText('saved in Our club.preflash.json').waitFor()
    expect(await button('Save', top()).isDisabled()).toBe(true)
  })

  it('does not write over a file of the same name, or over what somebody else has changed, unasked', async () => {
    await button('Open the demo bench').click()
    for (const again of [false, true]) {
      await button('Save as…').click()
      await dialog().getByRole('textbox', { name: 'Name' }).fill('Shed')
      await button('Save', dialog()).click()
      if (again) {
        await dialog().getByText('There is a bench of this name already.').waitFor()
        await button('Replace it', dialog()).click()
      }
      await dialog().waitFor({ state: 'detached' })
    }
    const theirs = writeBench({ ...demoBench(), name: 'Somebody else’s' })
    writeFileSync(fileOf('Shed'), theirs)
    await rename('Trainer A')
    await page.keyboard.press('Control+s')
    await dialog().getByText('Somebody else has changed this file since you opened it.').waitFor()
    await button('Cancel', dialog()).click()
    expect(readFileSync(fileOf('Shed'), 'utf8')).toBe(theirs)

    await page.keyboard.press('Control+s')
    await button('Save under another name…', dialog()).click()
    await dialog().getByRole('textbox', { name: 'Name' }).fill('con')
    await button('Save', dialog()).click()
    await dialog().getByText('con is a name that Windows keeps for a device.').waitFor()
    await page.keyboard.press('Escape')
    await dialog().waitFor({ state: 'detached' })

    await page.keyboard.press('Control+s')
    await button('Replace the file', dialog()).click()
    await said('Saved.')
    expect(readFileSync(fileOf('Shed'), 'utf8')).toContain('Trainer A')
  })

  it('says line and field of a bad file, and leaves what is open as it was', async () => {
    await button('Open the demo bench').click()
    await rename('Trainer A')
    await goHome()
    const text = writeBench(demoBench())
    await choose('torn.preflash.json', text.slice(0, 400))
    await page
      .getByRole('alert')
      .getByText(/torn\.preflash\.json, line \d+/)
      .waitFor()
    const at = demoBench().receivers.findIndex(r => r.id === 'wren-glider')
    const wrong = text.replace('"wren-glider"', '17')
    const line = wrong.slice(0, wrong.indexOf('"id": 17')).split('\n').length
    await choose('wrong.preflash.json', wrong)
    await page
      .getByRole('alert')
      .getByText(`wrong.preflash.json, line ${line}, receivers[${at}].id: This cannot be 17. Expected: `)
      .first()
      .waitFor()
    await choose('notes.json', '{"shopping": ["glue"]}')
    await page.getByRole('alert').getByText('notes.json, line 1, format: This is not a bench file.').waitFor()
    await dropText('letter.txt', 'Dear friend')
    await page.getByRole('alert').getByText('letter.txt: This is not a bench file').waitFor()
    await dropText('large.preflash.json', ' '.repeat(9 * 1024 * 1024))
    await page.getByRole('alert').getByText('Expected: a bench file of at most 8 MiB').waitFor()
    await button('Close', page.getByRole('alert')).click()
    await page.getByRole('navigation', { name: 'Views' }).getByText('Fleet').click()
    await row(/Trainer A/).waitFor()
    expect(await dialog().count()).toBe(0)
  })

  it('asks before a dropped bench takes the place of unsaved changes, and exports a copy', async () => {
    await dropText('gift.preflash.json', writeBench({ ...demoBench(), name: 'A gift' }))
    await top().getByText('A gift').waitFor()
    const saved = page.waitForEvent('download')
    await button('Export').click()
    const copy = await savedText(await saved)
    expect((await saved).suggestedFilename()).toBe('A gift.preflash.json')
    expect(copy).toBe(writeBench({ ...demoBench(), name: 'A gift' }))

    await dropText('other.preflash.json', writeBench({ ...demoBench(), name: 'Another' }))
    await dialog().getByText('What you changed on “A gift” since it was last saved would be lost.').waitFor()
    await page.keyboard.press('Escape')
    await top().getByText('A gift').waitFor()
    await dropText('other.preflash.json', writeBench({ ...demoBench(), name: 'Another' }))
    await button('Go on without saving', dialog()).click()
    await top().getByText('Another').waitFor()
  })

  it('offers what was left unsaved, with the file it belongs to, and drops it only when told to', async () => {
    await button('Open the demo bench').click()
    await button('Save as…').click()
    await button('Save', dialog()).click()
    await top().getByText('saved in Marsh Lane club.preflash.json').waitFor()
    await draftIs(false)
    await rename('Trainer A')
    await draftIs(true)

    await page.reload()
    await button('Open the demo bench').click()
    await dialog().getByRole('heading', { name: 'There are unsaved changes from last time' }).waitFor()
    await button('Cancel', dialog()).click()
    await button('Carry on with them').click()
    await row(/Trainer A/).waitFor()
    await page.keyboard.press('Control+s')
    await said('Saved.')
    expect(readFileSync(fileOf('Marsh Lane club'), 'utf8')).toContain('Trainer A')
    await draftIs(false)

    await rename('Trainer B')
    await draftIs(true)
    await page.reload()
    await button('Open the demo bench').click()
    await button('Go on without saving', dialog()).click()
    await row(/Wren in the club trainer/).waitFor()
    await draftIs(false)
  })

  it('keeps half-answered questions while another view is looked at', async () => {
    await button('New bench').click()
    await page.getByLabel('Name of the radio').fill('Tarn at home')
    await button('Next').click()
    await page.getByText('Question 2 of 14').waitFor()
    await goHome()
    await button('Go on with the questions').click()
    await page.getByText('Question 2 of 14').waitFor()
    await goHome()
    await button('New bench').click()
    expect(await page.getByLabel('Name of the radio').inputValue()).toBe('')
  })

  it('walks the parts of the window with F6, and changes nothing under an open dialog', async () => {
    await button('Open the demo bench').click()
    await row(/Wren in the club trainer/).click()
    const where = () =>
      page.evaluate(() => document.activeElement?.closest('aside, .app-edge, .app-top, main')?.className)
    await page.keyboard.press('F6')
    const walked: (string | undefined)[] = []
    for (let n = 0; n < 5; n++) {
      walked.push(await where())
      await page.keyboard.press('F6')
    }
    expect(walked).toEqual(['fleet-side', 'app-top', 'app-edge', 'app-view', 'fleet-side'])
    await page.keyboard.press('Shift+F6')
    expect(await where()).toBe('fleet-side')

    await rename('Trainer A')
    await row(/Trainer A/).dblclick()
    await dialog().getByRole('checkbox').first().focus()
    await page.keyboard.press('Control+z')
    await page.keyboard.press('F6')
    await button('Cancel', dialog()).click()
    await row(/Trainer A/).waitFor()
    expect(await top().getByText('Undone').count()).toBe(0)
  })

  it.each(['light', 'dark', 'contrast'])('gives axe nothing to find in the frame, in %s', async theme => {
    await page.getByRole('combobox', { name: 'Colours' }).selectOption(theme)
    expect(await axeFinds(page)).toEqual([])
    await button('Open the demo bench').click()
    await button('Save as…').click()
    await dialog().getByRole('textbox', { name: 'Name' }).fill('a:b')
    await button('Save', dialog()).click()
    await dialog().getByRole('alert').waitFor()
    expect(await axeFinds(page)).toEqual([])
    await page.keyboard.press('Escape')
    await rename('Trainer A')
    await page.keyboard.press('Control+z')
    await page.keyboard.press('Control+y')
    await goHome()
    await dropText('letter.txt', 'Dear friend')
    await page.getByRole('alert').waitFor()
    expect(await axeFinds(page)).toEqual([])
    await button('Open the demo bench').click()
    await dialog().waitFor()
    expect(await axeFinds(page)).toEqual([])
  })
})

describe.skipIf(lacks('chromium'))('a view that breaks', () => {
  it('leaves the frame and the bench as they were', async () => {
    const workbench = await openWorkbench()
    try {
      const { page } = workbench
      await page.route(/\/RehearseView-[^/]*\.js$/, route => route.abort())
      await page.reload()
      await page.getByRole('button', { name: 'Open the demo bench' }).click()
      const views = page.getByRole('navigation', { name: 'Views' })
      await views.getByRole('button', { name: /^Rehearse/ }).click()
      await page.getByRole('alert').getByText('This view has stopped working').waitFor()
      await page.getByRole('banner').getByText('Marsh Lane club').waitFor()
      expect(await axeFinds(page)).toEqual([])
      await views.getByRole('button', { name: /^Fleet/ }).click()
      await page.getByRole('grid', { name: 'What binds with what' }).waitFor()
      await page.unroute(/\/RehearseView-[^/]*\.js$/)
      await views.getByRole('button', { name: /^Rehearse/ }).click()
      await page.getByRole('button', { name: 'Reload' }).click()
      await page.getByRole('button', { name: 'Open the demo bench' }).click()
      await views.getByRole('button', { name: /^Rehearse/ }).click()
      await page.getByRole('form', { name: 'Set up the rehearsal' }).waitFor()
    } finally {
      await workbench.close()
    }
  })
})

describe.skipIf(lacks('chromium'))('a bench file named on the command line', () => {
  it('is opened at once, and saved in place', async () => {
    const folder = testFolder('named')
    const benchFile = join(folder.path, 'shed.preflash.json')
    writeFileSync(benchFile, writeBench({ ...demoBench(), name: 'The shed' }))
    const workbench = await openWorkbench({ benchFile })
    try {
      const { page } = workbench
      await page.getByRole('banner').getByText('The shed').waitFor()
      await page.getByRole('row', { name: /Wren in the club trainer/ }).dblclick()
      const dialog = page.getByRole('dialog')
      await dialog.getByRole('textbox', { name: 'Name', exact: true }).fill('Trainer A')
      await dialog.getByRole('button', { name: 'Keep changes' }).click()
      await page.keyboard.press('Control+s')
      await page.getByRole('banner').getByText('Saved.').waitFor()
      expect(readFileSync(benchFile, 'utf8')).toContain('Trainer A')
      expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
    } finally {
      await workbench.close()
      folder.remove()
    }
  })
})
