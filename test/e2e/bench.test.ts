import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import {
  axe,
  button,
  choosePort,
  cutOff,
  ended,
  goThrough,
  holdsNew,
  LONG_MS,
  lanes,
  live,
  lookAtTheTable,
  NEW,
  type OpenedBench,
  openProgrammer,
  openStep,
  toTheBench,
  write,
} from '../support/bench-steps.ts'
import { needs, titled } from '../support/needs.ts'
import { lacks } from '../support/tools.ts'
import { type PlayedReceiver, playedReceiver } from '../support/write-desk.ts'
import { writePlan } from '../support/write-plan.ts'

describe.skipIf(lacks('chromium') || needs('socat') === undefined)(
  titled('a programmer writes it, in the window', 'socat'),
  () => {
    let opened: OpenedBench
    let page: Page

    beforeAll(async () => {
      opened = await openProgrammer()
      page = opened.page
    })
    afterAll(async () => opened?.close())

    it('wires, refuses a reversed cable, rehearses, looks, and writes: the first write fails, the second works', {
      timeout: 2 * LONG_MS,
    }, async () => {
      const played = await playedReceiver({ faults: [{ name: 'first-write-fails' }] })
      await choosePort(page, played.path)
      await button(page, 'Next step').click()

      await page.getByLabel('Adapter', { exact: true }).selectOption({ label: 'Bench programmer' })
      const cable = page.getByLabel('Cable', { exact: true })
      await cable.selectOption({ label: 'Home-made cable, plus and minus swapped' })
      await page.getByText('Leave the power off').waitFor()
      expect(await button(page, 'Next step').count()).toBe(0)
      await button(page, 'Choose this').first().click()
      await page.getByText('The wiring is safe as it is drawn here').waitFor()
      expect(await cable.locator('option:checked').textContent()).toBe('Programmer cable')
      await button(page, 'Next step').click()

      const speaks = page.getByLabel('What the boot loader speaks')
      await speaks.selectOption('xmodem-crc')
      await page.getByText('Choose one that speaks over one wire').waitFor()
      expect(await button(page, 'Next step').count()).toBe(0)
      await speaks.selectOption('preflash-bus')
      await button(page, 'Next step').click()

      const checks = page.getByRole('list', { name: 'What must hold' })
      await checks.getByText('This plan was not rehearsed yet.').waitFor()
      await button(page, 'Rehearse this write').click()
      await page.getByText(/in the rehearsal the receiver runs the new image/).waitFor()
      expect(await page.locator('.pg-rehearsal-word').textContent()).toBe('Rehearsal')
      await button(page, 'Next step').click()

      const start = button(page, /^Write to .* through/)
      await page.locator('.pg-question').first().waitFor()
      expect(await page.locator('.pg-question input:checked').count()).toBe(0)
      expect(await start.isDisabled()).toBe(true)
      await page.getByRole('region', { name: 'Done before there is power' }).waitFor()
      await page.getByRole('radio', { name: /speed controller, or I cannot tell/ }).waitFor()
      await lookAtTheTable(page)
      await page.getByRole('radio', { name: /^The propeller or rotor/ }).check()
      await page.getByText('Take the propeller or rotor off').waitFor()
      expect(await start.isDisabled()).toBe(true)
      expect(await axe(page)).toEqual([])
      await lookAtTheTable(page)

      expect(await live(page).textContent()).toBe('')
      await write(page)
      // What axe finds while something is written is looked for in bench-more.test.ts: it takes a whole processor.
      expect(await live(page).textContent()).toContain(played.path)
      await ended(page)
        .getByText('The receiver runs the new image, and said so itself.')
        .waitFor({ timeout: LONG_MS })
      expect(await live(page).textContent()).toBe('')
      expect(await lanes(page).textContent()).toContain('2 attempts')
      expect(holdsNew(played)).toEqual(NEW)
      expect(await page.getByRole('list', { name: /differs from the rehearsal/ }).count()).toBe(1)
      expect(await axe(page)).toEqual([])
      expect(await cutOff(page)).toEqual([])

      await page.getByText('Look at the line').click()
      await page.getByRole('region', { name: 'Frames around the play head' }).waitFor()
      await button(page, /on the bench$/).click()
      await page.getByText('The bench says so now.').waitFor()
      await button(page, 'Undo').click()
      await page.getByText('The bench still says').waitFor()
      expect(await page.getByText('The bench says so now.').count()).toBe(0)
      await button(page, 'Redo').click()
      await page.getByText('The bench says so now.').waitFor()
      await button(page, /^Next receiver/).click()
      expect(await page.getByLabel('Receiver', { exact: true }).inputValue()).not.toBe('wren-trainer')
      expect(await lanes(page).count()).toBe(0)
    })

    it('tells the state of the receiver when the cable is pulled in the middle, and leads to one that is updated', {
      timeout: 2 * LONG_MS,
    }, async () => {
      const plan = writePlan()
      await page.getByLabel('Receiver', { exact: true }).selectOption('wren-trainer')
      const played = await playedReceiver({ plan, pace: 'line' })
      await button(page, /The port/).click()
      await choosePort(page, played.path)
      await button(page, 'Next step').click()
      await goThrough(page)
      await write(page)
      await page.locator('.pg-now').getByText('Write', { exact: true }).waitFor()
      await played.pair.hangUp()
      await lanes(page).getByText('The port was lost').waitFor()
      expect(holdsNew(played)).not.toEqual(NEW)
      expect(await ended(page).textContent()).toMatch(/partly|boot loader|not known/)
      expect(await axe(page)).toEqual([])

      await button(page, 'Put it right').click()
      await page.getByRole('heading', { name: 'The way back' }).waitFor()
      expect(await axe(page)).toEqual([])
      const again = await playedReceiver({ plan, memory: played.emulation.memory })
      await button(page, 'Get ready to write it again').press('Enter')
      await expect.poll(() => page.evaluate(() => document.activeElement?.textContent)).toContain('The port')
      await choosePort(page, again.path)
      await button(page, 'Next step').click()
      await goThrough(page)
      await write(page)
      await ended(page)
        .getByText('The receiver runs the new image, and said so itself.')
        .waitFor({ timeout: LONG_MS })
      expect(holdsNew(again)).toEqual(NEW)
      expect(await lanes(page).count()).toBe(1)
      const focused = () => page.evaluate(() => document.activeElement?.textContent)
      await lanes(page).getByRole('button', { name: 'Close' }).press('Enter')
      await expect.poll(() => lanes(page).count()).toBe(0)
      // The button is gone, and the keyboard does not begin at the top of the window again.
      await expect.poll(focused).toContain('A programmer writes it')
    })

    it('writes through two ports at once, each in a lane of its own', { timeout: 2 * LONG_MS }, async () => {
      const ids = ['wren-trainer', 'wren-glider'] as const
      const played: PlayedReceiver[] = []
      for (const receiverId of ids) {
        played.push(await playedReceiver({ plan: writePlan({ receiverId }), pace: 'line' }))
        await page.getByLabel('Receiver', { exact: true }).selectOption(receiverId)
        await openStep(page, /The port/)
        await choosePort(page, played[played.length - 1].path)
        await openStep(page, /Rehearsed and checked/)
        await goThrough(page)
        await button(page, /^Write to .* through/).click()
        await expect.poll(() => lanes(page).count()).toBe(played.length)
      }
      await expect.poll(() => ended(page).count(), { timeout: LONG_MS }).toBe(2)
      for (const each of await ended(page).all())
        expect(await each.textContent()).toContain('The receiver runs the new image')
      expect(played.map(holdsNew)).toEqual([NEW, NEW])
    })

    it('shows the text of a dialect, names what is wrong in it, and tests it octet for octet', async () => {
      await openStep(page, /What is written, and how/)
      await page.getByLabel('What the boot loader speaks').selectOption('st-an3155')
      await button(page, 'See its source').click()
      const [text, exchange] = [
        page.getByLabel('The dialect', { exact: true }),
        page.getByLabel(/^An exchange/),
      ]
      // ST AN3155, section 3.1: Get is 00 FF, and the receiver answers 79.
      await exchange.fill('→ 7F\n← 79\n→ 00 FE')
      await page.getByText(/Line 3: octet 2 is FE, the workbench would say FF/).waitFor()
      await exchange.fill('→ 7F\n← 79\n→ 00 FF\n← 79')
      await page.getByText('They agree, octet for octet.').waitFor()
      expect(await axe(page)).toEqual([])
      expect(await cutOff(page)).toEqual([])

      const whole = await text.inputValue()
      await text.fill(whole.replace('"octets": 256', '"octets": "many"'))
      await page.getByText(/block\.octets/).waitFor()
      expect(await button(page, 'Keep it').isDisabled()).toBe(true)
      await button(page, /^Show line \d+$/).click()
      const chosenText = (area: HTMLTextAreaElement) =>
        area.value.slice(area.selectionStart, area.selectionEnd)
      expect((await text.evaluate(chosenText)).trim()).toMatch(/^"octets": "many",?$/)
      // It stands near the top, and so does what is in sight then.
      const share = (area: HTMLTextAreaElement) => area.scrollTop / area.scrollHeight
      expect(await text.evaluate(share)).toBeLessThan(0.1)
      const own = whole.replace('"st-an3155"', '"my-rom"').replace(/"title": "[^"]*"/, '"title": "My ROM"')
      await text.fill(own)
      const views = page.getByRole('navigation', { name: 'Views' })
      await views.getByRole('button', { name: /^Fleet/ }).click()
      await page.getByRole('heading', { name: 'Fleet', level: 1 }).waitFor()
      await toTheBench(page)
      expect(await text.inputValue()).toBe(own)
      expect(await exchange.inputValue()).toBe('→ 7F\n← 79\n→ 00 FF\n← 79')
      await button(page, 'Keep it').click()
      await page.getByText('It is kept in the data folder').waitFor()
      await button(page, 'Back').click()
      const focused = () => page.evaluate(() => document.activeElement?.textContent)
      await expect.poll(focused).toContain('What is written, and how')
      const chosen = page.getByLabel('What the boot loader speaks')
      await expect.poll(() => chosen.locator('option:checked').textContent()).toBe('My ROM')

      await button(page, 'Write a new dialect').click()
      await expect.poll(focused).toBe('A new dialect')
      await text.fill(own.replace('"My ROM"', '"Another ROM"'))
      await button(page, 'Keep it').click()
      await page.getByText('There is a dialect of this name already: “My ROM”.').waitFor()
      await page.keyboard.press('Escape')
      expect(await page.getByRole('alertdialog').count()).toBe(0)
      await button(page, 'Back').click()
      await button(page, 'Go back without it').click()

      const picker = page.getByLabel('Dialect file')
      const broken = { name: 'broken.json', mimeType: 'application/json', buffer: Buffer.from('{\n"a":,\n}') }
      await picker.setInputFiles(broken)
      await page.getByText(/broken\.json.*line 2/).waitFor()
      await button(page, 'Edit and test it').click()
      await button(page, 'Remove this dialect').click()
      await button(page, 'Remove it').click()
      await chosen.waitFor()
      await expect.poll(() => chosen.locator('option').allTextContents()).not.toContain('My ROM')
    })

    it('asked nothing of the network and broke no rule of the page', () => {
      expect(opened.bench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
    })
  },
)
