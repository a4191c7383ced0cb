import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { axeFinds } from '../support/axe.ts'
import type { Workbench } from '../support/browser.ts'
import { openWorkbench } from '../support/browser.ts'
import {
  button,
  chooseReceiver,
  colours,
  dropFile,
  endMs,
  headMs,
  intelHex,
  openRehearsal,
  rehearse,
  someOctets,
  toStart,
} from '../support/rehearse-page.ts'
import { lacks } from '../support/tools.ts'

const timeLine = (page: Page) => page.getByRole('img', { name: /^Waveform, octets and frames/ })
const outcome = (page: Page) => page.getByRole('article', { name: 'Outcome of the rehearsal' })

/** Plays from the start for so long by the page's own clock, which the test holds; returns where the play head is. */
async function playFor(page: Page, wallMs: number): Promise<number> {
  await toStart(page)
  await button(page, 'Play').click()
  await page.clock.runFor(wallMs)
  await button(page, 'Pause').click()
  return headMs(page)
}

describe.skipIf(lacks('chromium'))('a rehearsal of the demo by cable', () => {
  let workbench: Workbench
  let page: Page

  beforeAll(async () => {
    workbench = await openWorkbench({ context: { viewport: { width: 1280, height: 800 } } })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await openRehearsal(page)
  })
  afterAll(async () => workbench?.close())

  it('shows the bench as it is set up, before anything has been rehearsed', async () => {
    const bench = page.getByRole('region', { name: 'The bench, wired' })
    for (const name of [
      /^Radio Club Tarn/,
      /^Receiver Wren in the club trainer/,
      /^Supply/,
      /^Card/,
      /^Module/,
    ])
      await bench.getByRole('button', { name }).waitFor()
    await bench.getByRole('button', { name: /^Receiver/ }).click()
    await page
      .getByRole('region', { name: 'Chosen device' })
      .getByText('Takes the image into its flash')
      .waitFor()
  })

  it('finds a receiver by what it is called', async () => {
    await chooseReceiver(page, 'thermal', 'Wren in the thermal glider')
    await page.getByRole('button', { name: /^Receiver Wren in the thermal glider/ }).waitFor()
    await chooseReceiver(page, 'club trainer', 'Wren in the club trainer')
  })

  it('plays as soon as it is asked for, with everything in sight and nothing to scroll for', async () => {
    await rehearse(page)
    for (const part of [
      '.rh-bench',
      '.rh-transport',
      '.rh-overview',
      '.rh-timeline',
      '.rh-flash',
      '.rh-phases',
    ]) {
      const box = await page.locator(part).boundingBox()
      expect(box, part).not.toBeNull()
      expect(box!.y + box!.height, part).toBeLessThanOrEqual(800)
    }
    expect(await page.getByRole('heading', { name: 'Rehearsal', exact: true }).isVisible()).toBe(true)
    expect(await colours(page.locator('.rh-timeline-canvas'))).toBeGreaterThan(5)
    expect(await colours(page.locator('.rh-flash-canvas'))).toBeGreaterThan(1)
  })

  it('plays at real speed, ten times and a hundred times, and stands still in pause', async () => {
    await page.clock.install()
    await page.clock.pauseAt(Date.now() + 60_000)
    for (const [name, speed] of [
      ['Real speed', 1],
      ['10×', 10],
      ['100×', 100],
    ] as const) {
      await button(page, name).click()
      const playedMs = await playFor(page, 320)
      // The first frame of the screen only notes the time, and the last may be one frame short.
      expect(playedMs, name).toBeGreaterThanOrEqual((320 - 2 * 17) * speed)
      expect(playedMs, name).toBeLessThanOrEqual(320 * speed)
      await page.clock.runFor(500)
      expect(await headMs(page), name).toBe(playedMs)
    }
    await page.clock.resume()
  })

  it('steps from event to event, forth and back, by button and by key', async () => {
    await toStart(page)
    await button(page, 'Step on').click()
    const first = await headMs(page)
    expect(first).toBeGreaterThan(0)
    await page.keyboard.press('ArrowRight')
    const second = await headMs(page)
    expect(second).toBeGreaterThan(first)
    await button(page, 'Step back').click()
    expect(await headMs(page)).toBe(first)
    await page.keyboard.press('ArrowLeft')
    expect(await headMs(page)).toBe(0)
  })

  it('jumps to an event, and every part shows that moment', async () => {
    await page.getByRole('tab', { name: 'Events' }).click()
    const writing = page.getByRole('list', { name: 'Events' }).getByRole('button', { name: /Write$/ })
    await writing.click()
    expect(await writing.getAttribute('aria-current')).toBe('true')
    await page.getByRole('tab', { name: 'Now' }).click()
    expect(await page.locator('.rh-phase-now').textContent()).toContain('Write')
    expect(await page.getByRole('region', { name: 'Phases' }).getByText('Time left').isVisible()).toBe(true)
    expect(
      await page.getByRole('img', { name: /^Pages of program flash/ }).getAttribute('aria-label'),
    ).toContain('erased')
  })

  it('follows a drag along the whole session', async () => {
    const strip = page.getByRole('slider', { name: 'Play head' })
    const box = (await strip.boundingBox())!
    await page.mouse.move(box.x + box.width * 0.2, box.y + 20)
    await page.mouse.down()
    await page.mouse.move(box.x + box.width * 0.6, box.y + 20, { steps: 4 })
    await page.mouse.up()
    expect((await headMs(page)) / (await endMs(page))).toBeCloseTo(0.6, 1)
  })

  it('zooms from the whole session down to one bit, by button, key and wheel', async () => {
    const spans: string[] = []
    for (const level of ['Whole session', 'Frame', 'Octet', 'Bit']) {
      await button(page, level).click()
      expect(await button(page, level).getAttribute('aria-pressed')).toBe('true')
      spans.push((await page.locator('.rh-timeline-tools .rh-figures').textContent()) ?? '')
    }
    expect(spans[0]).toMatch(/^5\d\.\d s in view/)
    // Two bits of 115,200 bit/s are 17.4 µs, an octet and a half 130 µs.
    expect(spans[3]).toBe('17.4 µs in view')
    expect(spans[2]).toBe('130 µs in view')
    await page.locator('.rh-phase button').first().focus()
    await page.keyboard.press('-')
    expect(await page.locator('.rh-timeline-tools .rh-figures').textContent()).toBe('27.8 µs in view')
    const box = (await timeLine(page).boundingBox())!
    await page.mouse.move(box.x + box.width / 2, box.y + 60)
    for (let i = 0; i < 120; i++) await page.mouse.wheel(0, 300)
    await expect.poll(() => button(page, 'Whole session').getAttribute('aria-pressed')).toBe('true')
  })

  it('explains a frame that is clicked, and the next one', async () => {
    await button(page, 'Frame').click()
    const chosen = page.getByRole('region', { name: 'Chosen frame' })
    await chosen.waitFor()
    const before = await chosen.textContent()
    expect(before).toMatch(/7E( [0-9A-F]{2})+/)
    await button(page, 'Next frame').click()
    expect(await chosen.textContent()).not.toBe(before)
    await button(page, 'Close').click()
    await chosen.waitFor({ state: 'detached' })
  })

  it('has the frames as a table for those who cannot see the picture', async () => {
    await page.getByRole('tab', { name: 'Frames' }).click()
    const table = page.getByRole('region', { name: 'Frames around the play head' })
    expect(await table.getByRole('row').count()).toBeGreaterThan(20)
    expect(await table.textContent()).toContain('Write, to receiver')
    expect(await timeLine(page).getAttribute('aria-label')).toMatch(/Telemetry bus: /)
  })

  it('draws another picture at every zoom', async () => {
    const pictures = new Set<string>()
    for (const level of ['Whole session', 'Frame', 'Octet', 'Bit']) {
      await button(page, level).click()
      await page.evaluate(
        () => new Promise(drawn => requestAnimationFrame(() => requestAnimationFrame(drawn))),
      )
      pictures.add(
        await page.locator('.rh-timeline-canvas').evaluate(c => (c as HTMLCanvasElement).toDataURL()),
      )
    }
    expect(pictures.size).toBe(4)
  })

  it('ends with the outcome, and the flash equals the image', async () => {
    await button(page, 'End').click()
    await outcome(page).getByText('Updated', { exact: true }).waitFor()
    expect(await outcome(page).textContent()).toContain('equals the image, all 262,144 octets')
    expect(await outcome(page).getByText('No flight before').count()).toBeGreaterThan(0)
    expect(
      await page.getByRole('img', { name: /^Pages of program flash/ }).getAttribute('aria-label'),
    ).toContain('256 written')
  })

  it('is still there, where it was left, after a look at another view', async () => {
    const before = await headMs(page)
    const views = page.getByRole('navigation')
    await views.getByRole('button', { name: /^Firmware/ }).click()
    await page.getByRole('heading', { name: 'Firmware' }).waitFor()
    await views.getByRole('button', { name: /^Rehearse/ }).click()
    await outcome(page).waitFor()
    expect(await headMs(page)).toBe(before)
    await timeLine(page).waitFor()
  })

  it('hands out the report and the trace as files', async () => {
    const report = page.waitForEvent('download')
    await button(page, 'Save report').click()
    expect((await report).suggestedFilename()).toBe('rehearsal-wren-trainer-cable-seed-1-report.json')
    const trace = page.waitForEvent('download')
    await button(page, 'Save trace').click()
    expect((await trace).suggestedFilename()).toBe('rehearsal-wren-trainer-cable-seed-1-trace.jsonl')
  })

  it('prints the word on the page, and the outcome in full', async () => {
    await page.emulateMedia({ media: 'print' })
    expect(
      await page.getByText('Rehearsal: simulated, nothing was written to a real receiver').isVisible(),
    ).toBe(true)
    expect(await page.locator('.rh-setup').isVisible()).toBe(false)
    expect(await page.locator('.rh-outcome').isVisible()).toBe(true)
    await page.emulateMedia({ media: 'screen' })
  })

  it('rehearses with another seed from the outcome', async () => {
    await button(page, 'Rehearse with another seed').click()
    await expect.poll(() => page.getByLabel('Seed').inputValue()).toBe('2')
    await button(page, 'Pause').waitFor()
  })

  it('ran without errors, policy violations or requests to anywhere else', () => {
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})

describe.skipIf(lacks('chromium'))('faults, routes and files', () => {
  let workbench: Workbench
  let page: Page

  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await openRehearsal(page)
  })
  afterAll(async () => workbench?.close())

  it('goes wrong by a power cut, says why, and gives the steps back that the simulator has walked', async () => {
    await page.getByText('Faults', { exact: true }).click()
    await page.getByRole('checkbox', { name: 'Power cut' }).check()
    expect(await page.getByText('1 on', { exact: true }).isVisible()).toBe(true)
    await rehearse(page)
    await page.keyboard.press('End')
    await outcome(page).getByText('Needs the cable', { exact: true }).waitFor()
    const runbook = outcome(page).getByRole('region', { name: 'Recovery runbook' })
    expect(await runbook.locator('ol > li').count()).toBeGreaterThanOrEqual(2)
    expect(await runbook.textContent()).toContain('The simulator carried these steps out')
    expect(await runbook.textContent()).toContain('The receiver runs the new image.')
    expect(await outcome(page).textContent()).toContain('differs from the image')
    await page.getByRole('tab', { name: 'Now' }).click()
    expect(await page.locator('.rh-phase-failed').count()).toBeGreaterThan(0)
    expect(await page.getByRole('button', { name: /^Receiver/ }).textContent()).toContain('without power')
  })

  it('names a value that a fault does not take, at its field', async () => {
    await page.getByLabel('Cut after').fill('99999')
    await page.keyboard.press('Control+Enter')
    const alert = page.locator('.rh-fault').getByRole('alert')
    await alert.waitFor()
    expect(await alert.textContent()).toContain('from 0 to 3600 s')
    await button(page, 'Switch all off').click()
    await alert.waitFor({ state: 'detached' })
  })

  it('offers only faults of the route', async () => {
    await page.getByRole('radio', { name: 'Wireless' }).check()
    expect(await page.getByRole('checkbox', { name: 'Cable comes loose' }).isDisabled()).toBe(true)
    expect(await page.getByRole('checkbox', { name: 'Module switched off' }).isDisabled()).toBe(false)
  })

  it('goes the wireless way too, with both lines in sight', async () => {
    await rehearse(page)
    expect(await timeLine(page).getAttribute('aria-label')).toMatch(/Radio to module: .*Air: /)
    await page.keyboard.press('End')
    await outcome(page).getByText('Updated', { exact: true }).waitFor()
    const box = (await page.locator('.rh-flash').boundingBox())!
    expect(box.y + box.height).toBeLessThanOrEqual(800)
  })

  it('is refused where a rule does not hold, and shows the rule with what would help', async () => {
    await page.getByRole('checkbox', { name: 'Module switched off' }).check()
    await rehearse(page)
    await page.keyboard.press('End')
    await outcome(page).getByText('Unchanged', { exact: true }).waitFor()
    expect(await outcome(page).locator('.rh-finding-no').first().textContent()).toContain('What would help')
    await button(page, 'Switch all off').click()
  })

  it('takes an Intel HEX file from the file dialog', async () => {
    await page.getByRole('radio', { name: 'By cable' }).check()
    const [chooser] = await Promise.all([
      page.waitForEvent('filechooser'),
      button(page, 'Choose a file…').click(),
    ])
    const text = intelHex(0, someOctets(8 * 1024))
    await chooser.setFiles({ name: 'trial.hex', mimeType: 'text/plain', buffer: Buffer.from(text) })
    await page.getByText('trial.hex').waitFor()
    await page.getByLabel('Version').fill('9.9')
    await page.keyboard.press('Control+Enter')
    await page.getByText('Three numbers with dots').waitFor()
    await page.getByLabel('Version').fill('9.9.0')
    await rehearse(page)
    await page.keyboard.press('End')
    await outcome(page).getByText('Updated', { exact: true }).waitFor()
    expect(await outcome(page).textContent()).toContain('all 8,192 octets')
  })

  it('takes a raw binary that is dropped on the view', async () => {
    await dropFile(page, 'dropped.bin', someOctets(4096))
    await page.getByText('dropped.bin').waitFor()
    await page.getByLabel('Version').fill('9.9.1')
    await rehearse(page)
    await page.keyboard.press('End')
    await expect.poll(() => outcome(page).textContent()).toContain('all 4,096 octets')
  })

  it('refuses what lies outside program flash, and leaves it out on request', async () => {
    const inside = intelHex(0, someOctets(2048)).replace(':00000001FF\n', '')
    // Record type 04 sets the upper half of the address, here 0x10001000: far outside.
    const outside = `:020000041000EA\n${intelHex(0x1000, someOctets(32))}`
    await dropFile(page, 'outside.hex', new TextEncoder().encode(inside + outside))
    await page.getByText('outside.hex').first().waitFor()
    await button(page, 'Rehearse again').click()
    const leaveOut = page.getByRole('checkbox', { name: 'Leave out what lies outside program flash' })
    await leaveOut.waitFor()
    expect(await page.getByRole('form').getByRole('alert').textContent()).toContain('outside.hex')
    await leaveOut.check()
    await page.getByLabel('Version').fill('9.9.2')
    await rehearse(page)
    await page.keyboard.press('End')
    await expect.poll(() => outcome(page).textContent()).toContain('32 octets outside program flash')
  })

  it('says what is wrong with a file that is no image', async () => {
    await dropFile(page, 'torn.hex', new TextEncoder().encode(':10000000AA\n'))
    await page.getByText('torn.hex').first().waitFor()
    await button(page, 'Rehearse again').click()
    const alert = page.getByRole('form').getByRole('alert')
    await alert.waitFor()
    expect(await alert.textContent()).toMatch(/torn\.hex, line 1/)
  })

  it('remembers route and seed for the next time', async () => {
    await page.getByRole('radio', { name: 'Wireless' }).check()
    await page.getByLabel('Seed').fill('77')
    const kept = join(workbench.host.dataFolder, 'settings.json')
    await expect
      .poll(() => (existsSync(kept) ? readFileSync(kept, 'utf8') : ''), { timeout: 5_000 })
      .toContain('77')
    await page.reload()
    await openRehearsalAgain(page)
    expect(await page.getByRole('radio', { name: 'Wireless' }).isChecked()).toBe(true)
    expect(await page.getByLabel('Seed').inputValue()).toBe('77')
  })
})

async function openRehearsalAgain(page: Page) {
  await page.getByText('Look around first').waitFor()
  await openRehearsal(page)
}

describe.skipIf(lacks('chromium')).each(['light', 'dark'] as const)('for everybody, in %s', colorScheme => {
  let workbench: Workbench
  let page: Page
  const problems = async () => {
    return axeFinds(page)
  }

  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 1280, height: 800 }, colorScheme, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await openRehearsal(page)
  })
  afterAll(async () => workbench?.close())

  it('axe finds nothing before the first rehearsal, with the faults open', async () => {
    await page.getByText('Faults', { exact: true }).click()
    await page.getByRole('checkbox', { name: 'Power cut' }).check()
    expect(await problems()).toEqual([])
  })

  it('does not start to move by itself where movement is not wanted', async () => {
    await page.keyboard.press('Control+Enter')
    await button(page, 'Play').waitFor()
    expect(await headMs(page)).toBe(0)
  })

  it('axe finds nothing in any tab of a session', async () => {
    for (const tab of ['Now', 'Events', 'Frames']) {
      await page.getByRole('tab', { name: tab }).click()
      expect(await problems(), tab).toEqual([])
    }
    await button(page, 'Frame').click()
    await page.getByRole('button', { name: /^Radio/ }).click()
    expect(await problems(), 'explained').toEqual([])
    await page.keyboard.press('End')
    await outcome(page).waitFor()
    expect(await problems(), 'Outcome').toEqual([])
  })

  it('goes all by keyboard', async () => {
    await page.getByRole('tab', { name: 'Outcome' }).focus()
    await page.keyboard.press('ArrowLeft')
    expect(await page.getByRole('tab', { name: 'Frames' }).getAttribute('aria-selected')).toBe('true')
    await page.getByRole('slider', { name: 'Play head' }).focus()
    await page.keyboard.press('Home')
    expect(await headMs(page)).toBe(0)
    await page.keyboard.press('1')
    expect(await button(page, 'Real speed').getAttribute('aria-pressed')).toBe('true')
    await page.keyboard.press('Space')
    await button(page, 'Pause').waitFor()
    await expect.poll(() => headMs(page), { timeout: 5_000 }).toBeGreaterThan(0)
    await page.keyboard.press('Space')
    await button(page, 'Play').waitFor()
    expect(await headMs(page)).toBeGreaterThan(0)
  })
})
