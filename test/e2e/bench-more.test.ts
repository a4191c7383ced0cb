import type { Page } from 'playwright-core'
import { describe, expect, it, onTestFinished } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { type Dialect, dialectJsonSchema, readDialect, writeDialect } from '../../shared/dialect/schema.ts'
import { readSessionFile } from '../../shared/logbook/session-file.ts'
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
  openProgrammer,
  openStep,
  setUp,
  write,
} from '../support/bench-steps.ts'
import { openWorkbench, savedText } from '../support/browser.ts'
import { testFolder } from '../support/folder.ts'
import type { TestHost } from '../support/host.ts'
import { needs, titled } from '../support/needs.ts'
import { ptyPair } from '../support/pty.ts'
import { lacks } from '../support/tools.ts'
import { playedReceiver } from '../support/write-desk.ts'
import { writePlan } from '../support/write-plan.ts'

const stAn3155Read = () => builtInDialects().get('st-an3155') as Dialect

/** What a text file is while it is dropped. */
const droppedText = (page: Page, text: string) =>
  page.evaluateHandle(content => {
    const data = new DataTransfer()
    data.items.add(new File([content], 'seen.txt', { type: 'text/plain' }))
    return data
  }, text)

/** Presses Tab until what has the focus is called so. */
async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let i = 0; i < 80; i++) {
    const said = await page.evaluate(() => {
      const at = document.activeElement
      const label = at instanceof HTMLInputElement || at instanceof HTMLSelectElement ? at.labels?.[0] : at
      return (at?.getAttribute('aria-label') ?? label?.textContent ?? '').trim()
    })
    if (name.test(said)) return
    await page.keyboard.press('Tab')
  }
  throw new Error(`Tab does not come to ${name}`)
}

describe.skipIf(lacks('chromium') || needs('socat') === undefined)(
  titled('the programmer’s side', 'socat'),
  () => {
    it('opens on a write that broke off with its program, and leads to a receiver that is updated', {
      timeout: 3 * LONG_MS,
    }, async () => {
      const data = testFolder('broken-off')
      onTestFinished(() => data.remove())
      const first = await openProgrammer({ dataFolder: data.path })
      const played = await playedReceiver({ plan: writePlan(), pace: 'line' })
      await setUp(first.page, played.path)
      await goThrough(first.page)
      await write(first.page)
      await first.page.locator('.pg-now').getByText('Write', { exact: true }).waitFor()
      ;(first.bench.host as TestHost).process.kill('SIGKILL')
      await first.page.getByText('The workbench does not answer.').waitFor()
      expect(await button(first.page, 'Cancel…').count()).toBe(0)
      await first.close()
      expect(holdsNew(played)).not.toEqual(NEW)

      const next = await openWorkbench({ dataFolder: data.path })
      onTestFinished(() => next.close())
      const { page } = next
      page.setDefaultTimeout(15_000)
      await page.getByText('A write broke off: Wren in the club trainer').waitFor()
      expect(await axe(page)).toEqual([])
      await button(page, 'Put it right').click()
      await page.getByRole('heading', { name: 'The way back: Wren in the club trainer' }).waitFor()
      await page.getByText('carried out on a simulated receiver in this very state').waitFor()
      await button(page, 'Close').first().click()
      await button(page, 'It has been seen to…').click()
      await page.getByText('Then it is not told of any more').waitFor()
      await button(page, 'No, stay here').click()
      await button(page, 'Put it right').click()
      await page.getByText('carried out on a simulated receiver in this very state').waitFor()
      expect(await axe(page)).toEqual([])
      await button(page, 'Open a copy of that bench').click()
      await button(page, 'Get ready to write it again').click()
      const again = await playedReceiver({ plan: writePlan(), memory: played.emulation.memory })
      await choosePort(page, again.path)
      await goThrough(page)
      await write(page)
      await ended(page)
        .getByText('The receiver runs the new image, and said so itself.')
        .waitFor({ timeout: LONG_MS })
      expect(holdsNew(again)).toEqual(NEW)
      await page.reload()
      await button(page, /^Fleet/)
        .or(page.getByRole('heading', { level: 1 }))
        .first()
        .waitFor()
      expect(await page.getByText('A write broke off').count()).toBe(0)
    })

    it('takes one receiver after another in a batch, and counts them', { timeout: 3 * LONG_MS }, async () => {
      const pair = await ptyPair()
      const opened = await openProgrammer()
      onTestFinished(async () => {
        await opened.close()
        await pair.end()
      })
      const { page } = opened
      await setUp(page, pair.a)
      await openStep(page, /The port/)
      await page.getByLabel(/^A batch/).check()
      expect(await page.getByRole('checkbox', { name: new RegExp(pair.a) }).isChecked()).toBe(true)
      await goThrough(page)
      await page.getByText('You answer for every receiver of the batch').waitFor()
      await button(page, /^Start the batch through/).click()
      const board = page.getByRole('region', { name: 'Batch' })
      await board.getByText('Plug a receiver in.').waitFor()
      await board.getByText('A receiver is written as soon as it is plugged in').waitFor()
      for (const count of [1, 2]) {
        const played = await playedReceiver({ plan: writePlan(), pair })
        await board.getByText(`${count} done`).waitFor({ timeout: LONG_MS })
        expect(holdsNew(played)).toEqual(NEW)
        await board.getByText('unplug it, and plug the next one in').waitFor()
        await played.emulator.stop()
        await board.getByText('Plug a receiver in.').waitFor({ timeout: LONG_MS })
        expect(await live(page).textContent()).toContain(`a batch writes to what is plugged in at ${pair.a}`)
      }
      expect(await board.getByRole('row').count()).toBe(3)
      // What a receiver says of itself takes two lines at most, until somebody asks for more.
      const newest = board.getByRole('row').nth(1).getByRole('cell').nth(1)
      expect(await newest.innerText()).toMatch(/^Type Wren 6, Firmware 2\.4\.0\s+\d more$/)
      await newest.getByText(/^\d more$/).click()
      expect(await newest.innerText()).toContain('Program flash')
      expect(await axe(page)).toEqual([])
      expect(await cutOff(page)).toEqual([])
      await button(page, 'Stop the batch').click()
      await board.getByText('The batch has ended').waitFor()
      await board.getByRole('button', { name: 'Close' }).click()
      expect(await board.count()).toBe(0)
    })

    it('says what the receiver holds after a cancel, and finds out why one does not answer', {
      timeout: 3 * LONG_MS,
    }, async () => {
      const opened = await openProgrammer()
      onTestFinished(() => opened.close())
      const { page } = opened
      const slow = await playedReceiver({ plan: writePlan(), pace: 'line' })
      await setUp(page, slow.path)
      await goThrough(page)
      await write(page)
      await page.locator('.pg-now').getByText('Write', { exact: true }).waitFor()
      // Escape and the second click of a double click change nothing.
      const focused = () => page.evaluate(() => document.activeElement?.textContent)
      await button(page, 'Cancel…').click()
      expect(await focused()).toBe('Let it go on')
      await page.keyboard.press('Escape')
      await expect.poll(focused).toBe('Cancel…')
      await button(page, 'Cancel…').click()
      await button(page, 'Cancel the write').click()
      await lanes(page).getByText('Cancelled', { exact: true }).waitFor()
      expect(await ended(page).textContent()).toMatch(/only partly|boot loader/)
      expect(holdsNew(slow)).not.toEqual(NEW)
      await lanes(page).getByRole('button', { name: 'Close' }).click()

      const silent = await playedReceiver({ plan: writePlan(), faults: [{ name: 'silent' }] })
      await openStep(page, /The port/)
      await choosePort(page, silent.path)
      await goThrough(page)
      await write(page)
      await lanes(page).getByText('Failed', { exact: true }).waitFor({ timeout: LONG_MS })
      expect(await ended(page).textContent()).toContain('Nothing was changed')
      // What the steps say is what is the case now, not what was while the write had the port.
      const states = () => page.locator('.pg-step-state').allTextContents()
      await expect.poll(states, { timeout: 15_000 }).toEqual(['done', 'done', 'done', 'done', 'next'])
      await silent.emulator.stop()
      await silent.pair.end()
      await expect.poll(states, { timeout: 15_000 }).toEqual(['not there', '', '', '', ''])
      // On a phone too: all that can be done about it, and the wiring, which is moved there rather than shrunk.
      const desktop = page.viewportSize()
      await page.setViewportSize({ width: 360, height: 640 })
      expect(await cutOff(page)).toEqual([])
      await openStep(page, /The wiring/)
      await page.getByText('Move the drawing sideways').waitFor()
      expect(await cutOff(page)).toEqual([])
      expect(await axe(page)).toEqual([])
      if (desktop !== null) await page.setViewportSize(desktop)

      await openStep(page, /What is written, and how/)
      await button(page, 'See its source').click()
      await page.getByText('The Preflash bus is no data').waitFor()
      await button(page, 'Back').click()
      await openStep(page, /What is written, and how/)
      await page.getByLabel('What the boot loader speaks').selectOption('st-an3155')
      await button(page, 'See its source').click()
      await button(page, /^Take the write to Wren in the club trainer/).click()
      await page.getByText(/^Line 1: octet 1 is 7E/).waitFor()
      await button(page, 'Back').click()

      await button(page, 'Find out why').click()
      await page.getByRole('heading', { name: 'Diagnose', level: 1 }).waitFor()
      expect(await page.getByRole('main').textContent()).toContain('The cable does not answer')
    })

    it('goes from the port to the write by keyboard alone', { timeout: 2 * LONG_MS }, async () => {
      const played = await playedReceiver({ plan: writePlan() })
      const opened = await openProgrammer()
      onTestFinished(() => opened.close())
      const { page } = opened
      const { keyboard } = page
      const next = async () => {
        await tabTo(page, /^Next step$/)
        await keyboard.press('Enter')
      }
      await tabTo(page, /^A serial server, or a path/)
      await keyboard.press('Enter')
      await tabTo(page, /^Server and its port/)
      await keyboard.type(played.path)
      await keyboard.press('Enter')
      const row = page.getByRole('radio', { name: new RegExp(played.path) })
      await row.waitFor()
      await row.focus()
      await keyboard.press('Space')
      await next()
      for (const [field, start] of [
        [/^Adapter$/, 'Bench'],
        [/^Cable$/, 'Programmer'],
      ] as const) {
        await tabTo(page, field)
        await keyboard.type(start)
      }
      await page.getByText('The wiring is safe').waitFor()
      await next()
      await tabTo(page, /^What the boot loader speaks/)
      await keyboard.type('Preflash')
      await next()
      await tabTo(page, /^Rehearse this write/)
      await keyboard.press('Enter')
      await page.getByText(/in the rehearsal the receiver runs/).waitFor()
      await next()
      for (const [first, downs] of [
        [/^Bench programmer, through/, 0],
        [/^The propeller or rotor/, 1],
        [/^My own hands/, 3],
      ] as const) {
        await tabTo(page, first)
        await keyboard.press('Space')
        for (let i = 0; i < downs; i++) await keyboard.press('ArrowDown')
      }
      await tabTo(page, /^Write to/)
      await keyboard.press('Enter')
      await ended(page)
        .getByText('The receiver runs the new image, and said so itself.')
        .waitFor({ timeout: LONG_MS })
      expect(holdsNew(played)).toEqual(NEW)
    })

    it('leads from the first screen to a write that goes on, after the window was loaded anew', {
      timeout: 2 * LONG_MS,
    }, async () => {
      const opened = await openProgrammer()
      onTestFinished(() => opened.close())
      const { page } = opened
      const slow = await playedReceiver({ plan: writePlan(), pace: 'line' })
      await page.getByText('A serial server, or a path').click()
      await page.getByLabel('Server and its port, or a path').fill(slow.path)
      await button(page, 'Add').click()
      const row = page.getByRole('radio', { name: new RegExp(slow.path) })
      // Whoever types a port in means to use it.
      await expect.poll(() => row.isChecked()).toBe(true)
      await setUp(page, slow.path)
      await openStep(page, /The port/)
      await button(page, new RegExp(`^Name ${slow.path}`)).click()
      await page.keyboard.type('Left one')
      await page.keyboard.press('Enter')
      await expect.poll(() => page.evaluate(() => document.activeElement?.textContent)).toBe('Rename')
      await goThrough(page)
      await write(page)
      await page.locator('.pg-now').getByText('Write', { exact: true }).waitFor()
      await page.goto('about:blank')
      await page.goto(opened.bench.host.url)
      await page.getByRole('heading', { name: 'Fleet', level: 1 }).waitFor()
      await button(page, /^Benches/).click()
      const going = page.getByRole('region', { name: 'Writes' })
      expect(await axe(page)).toEqual([])
      await going.getByRole('button', { name: /^See / }).click()
      await lanes(page).getByText('through Left one').waitFor()
      await ended(page).waitFor({ timeout: LONG_MS })
      const [saved] = await Promise.all([page.waitForEvent('download'), button(page, 'Export…').click()])
      const session = readSessionFile(await savedText(saved), saved.suggestedFilename())
      expect(session).toMatchObject({
        ok: true,
        value: { session: { kind: 'write', benchName: 'Marsh Lane club' } },
      })
    })

    it('opens files into the dialect editor, takes dropped ones, and hands them out', {
      timeout: LONG_MS,
    }, async () => {
      const { page, close } = await openProgrammer()
      onTestFinished(() => close())
      const pair = await ptyPair()
      onTestFinished(() => pair.end())
      await choosePort(page, pair.a)
      await setUp(page, pair.a)
      await openStep(page, /What is written, and how/)
      await button(page, 'Write a new dialect').click()
      const text = page.getByLabel('The dialect', { exact: true })
      const hand = async (name: string, octets: Uint8Array, words: string) => {
        const [chooser] = await Promise.all([page.waitForEvent('filechooser'), button(page, words).click()])
        await chooser.setFiles({ name, mimeType: 'text/plain', buffer: Buffer.from(octets) })
      }
      const first = await text.inputValue()
      await hand('odd.json', Uint8Array.of(0xff, 0xfe, 0x00), 'Open a file…')
      await page.getByText('The file is no text in UTF-8.').waitFor()
      expect(await text.inputValue()).toBe(first)
      const mine = writeDialect({ ...stAn3155Read(), name: 'mine', title: 'Mine' })
      await hand('mine.json', new TextEncoder().encode(mine), 'Open a file…')
      await expect.poll(() => text.inputValue()).toBe(mine)
      const exchange = page.getByLabel('An exchange to test it against')
      await exchange.dispatchEvent('drop', { dataTransfer: await droppedText(page, '→ 7F\n← 79\n') })
      await page.getByText('They agree, octet for octet.').waitFor()
      const save = async (words: string) => {
        const [saved] = await Promise.all([page.waitForEvent('download'), button(page, words).click()])
        return { name: saved.suggestedFilename(), text: await savedText(saved) }
      }
      const file = await save('Save as a file…')
      expect([file.name, readDialect(file.text, file.name).ok]).toEqual(['mine.dialect.json', true])
      expect(JSON.parse((await save('Save the schema…')).text)).toEqual(dialectJsonSchema())
    })

    it.each([
      ['light', 1024, 700],
      ['dark', 1280, 800],
      ['dark', 390, 800],
    ] as const)(
      'has nothing that axe finds, and nothing cut off: %s, %d wide',
      { timeout: LONG_MS },
      async (colorScheme, width, height) => {
        const opened = await openProgrammer({ context: { colorScheme, viewport: { width, height } } })
        onTestFinished(() => opened.close())
        const { page } = opened
        const found: string[] = []
        const look = async (where: string) => {
          for (const wrong of [...(await axe(page)), ...(await cutOff(page))])
            found.push(`${where}: ${wrong}`)
        }
        const pair = await ptyPair()
        onTestFinished(() => pair.end())
        await choosePort(page, pair.a)
        await button(page, new RegExp(`^Name ${pair.a}`)).click()
        await look('port')
        await setUp(page, pair.a)
        await look('what')
        await openStep(page, /The wiring/)
        await look('wiring')
        await openStep(page, /Rehearsed and checked/)
        await button(page, 'Rehearse this write').click()
        await page.getByText('Look at the simulated line').click()
        await page.getByRole('region', { name: 'Frames around the play head' }).waitFor()
        await look('rehearsed')
        await goThrough(page)
        await lookAtTheTable(page)
        await look('look')
        await openStep(page, /What is written, and how/)
        await button(page, 'Write a new dialect').click()
        await page.getByLabel(/^An exchange/).fill('→ 55\n← 06')
        await look('editor')
        expect(found).toEqual([])
      },
    )
  },
)
