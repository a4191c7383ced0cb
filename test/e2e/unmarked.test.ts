import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { type Bench, writeBench } from '../../shared/model/bench.ts'
import type { Connector } from '../../shared/model/catalogue.ts'
import { axeFinds } from '../support/axe.ts'
import { openWorkbench, type Workbench } from '../support/browser.ts'
import { lacks } from '../support/tools.ts'

/** Types that look alike, but that one takes another plug. */
function byConnector(): Bench {
  const demo = demoBench()
  const [plug] = demo.catalogue.connectors
  const four: Connector = {
    ...plug,
    id: 'four-pin',
    name: 'Four-pin plug, 1.25 mm',
    pins: [...plug.pins, { name: 'N', role: 'not-used' }],
  }
  const receiverTypes = demo.catalogue.receiverTypes.map(type => ({
    ...type,
    looks: undefined,
    service: undefined,
    bands: demo.catalogue.receiverTypes[0].bands,
    connectorId: type.id === 'tamsin-curlew-12' ? four.id : plug.id,
  }))
  return { ...demo, catalogue: { ...demo.catalogue, connectors: [plug, four], receiverTypes } }
}

describe.skipIf(lacks('chromium'))('a receiver without markings', () => {
  let workbench: Workbench
  let page: Page

  const view = (name: RegExp) =>
    page.getByRole('navigation', { name: 'Views' }).getByRole('button', { name }).click()
  const cards = (question: string) => page.getByRole('group', { name: question })
  /** What the focused button says, without its drawing. */
  const focused = () =>
    page.evaluate(() => {
      const at = document.activeElement
      return (at?.querySelector('span') ?? at)?.textContent ?? ''
    })
  const answered = () => page.getByRole('region', { name: 'What was answered' })
  const takeBack = (label: string) => page.getByRole('button', { name: `Take back: ${label}` })
  const list = () => page.getByRole('listbox', { name: 'Images, the best first' }).getByRole('option')

  beforeAll(async () => {
    workbench = await openWorkbench({
      context: { viewport: { width: 1280, height: 800 }, reducedMotion: 'reduce' },
    })
    page = workbench.page
    page.setDefaultTimeout(20_000)
    await page.getByRole('button', { name: 'Open the demo bench' }).click()
    await page.getByText('17 receivers').waitFor()
  })
  afterAll(async () => workbench?.close())

  it('is called not known in the fleet, and the way leads to the questions about it', async () => {
    const row = page.getByRole('row', { name: /flea market/ })
    expect(await row.textContent()).toContain('type not known')
    expect(await row.textContent()).not.toContain('in step')
    await row.click()
    const side = page.getByRole('complementary', { name: 'Chosen receiver' })
    expect(await side.textContent()).toContain('The type of this receiver is not known')
    await side.getByRole('button', { name: 'Find out what it is' }).click()
    await cards('How many servo outputs are there?').waitFor()
    expect(await page.getByLabel('Receiver', { exact: true }).inputValue()).toBe('flea-market')
  })

  it('calls no image fine, and offers nothing that would need the type', async () => {
    // Those further down are drawn once they are scrolled to.
    const all = String(demoBench().images.length)
    expect(await list().first().getAttribute('aria-setsize')).toBe(all)
    expect(await list().count()).toBeGreaterThan(6)
    for (const text of await list().allTextContents()) expect(text).toContain('not known')
    const panel = page.getByRole('complementary', { name: 'Chosen image' })
    expect(await panel.getByRole('button', { name: /Rehearse|card…/ }).count()).toBe(0)
  })

  it('has a drawing on each answer, said in words as well', async () => {
    const card = page.getByRole('button', { name: '6 outputs' })
    expect(await card.locator('svg').count()).toBe(1)
    const description = await card.evaluate(
      el => el.ownerDocument.getElementById(el.getAttribute('aria-describedby') ?? '')?.textContent,
    )
    expect(description).toBe('A receiver seen from above, with 6 rows of three pins at one end.')
    expect(await axeFinds(page)).toEqual([])
  })

  it('is found by keyboard alone: two looks, a yes, and its image', async () => {
    await page.getByRole('button', { name: '5 outputs' }).focus()
    await page.keyboard.press('ArrowRight')
    expect(await focused()).toContain('6 outputs')
    await page.keyboard.press('Enter')
    await cards('How long is its case?').waitFor()
    await expect.poll(focused).toContain('about 42 mm')
    expect(await answered().textContent()).toContain('It may be: Aldwick Wren 6, Tamsin Heron 8.')
    await page.keyboard.press('End')
    expect(await focused()).toContain('about 52 mm')
    await page.keyboard.press('Home')
    await page.keyboard.press(' ')
    await expect.poll(focused).toContain('Yes, it is an Aldwick Wren 6')
    // Only one is left, and still nothing is called fine before a person says so.
    expect(await list().first().textContent()).toContain('not known')
    await page.keyboard.press('Enter')
    await page.getByRole('region', { name: 'Versions for Aldwick Wren 6' }).waitFor()
    await page.getByRole('heading', { name: 'How does the receiver share the air?' }).waitFor()
    await expect.poll(focused).toContain('listen-before-talk')
    expect(await axeFinds(page)).toEqual([])
    await page.keyboard.press('Enter')
    // The rest as a Wren 6 of hardware B, generation 3, would have it answered.
    const isFound = async () => /Wren 6, 2\.4\.0.*fits/s.test((await list().first().textContent()) ?? '')
    const heading = page.getByRole('region', { name: 'What to look up next' }).getByRole('heading')
    let asked = 'How does the receiver share the air?'
    for (let i = 0; i < 6; i++) {
      const isNext = async () => (await heading.count()) > 0 && (await heading.textContent()) !== asked
      await expect.poll(async () => (await isFound()) || (await isNext())).toBe(true)
      if (await isFound()) break
      asked = (await heading.textContent()) ?? ''
      await expect.poll(() => page.evaluate(() => document.activeElement?.tagName)).toBe('BUTTON')
      const wanted = /generation/.test(asked) ? '3' : /revision/.test(asked) ? 'B' : '2.3.0'
      for (let step = 0; step < 8 && (await focused()) !== wanted; step++)
        await page.keyboard.press(/revision/.test(asked) ? 'ArrowRight' : 'Tab')
      await page.keyboard.press('Enter')
    }
    expect(await isFound()).toBe(true)
  })

  it('takes answers back in any order, and is not known again', async () => {
    await takeBack('listen-before-talk').click()
    await expect.poll(() => list().first().textContent()).toContain('not known')
    await takeBack('6 servo outputs').click()
    await takeBack('Aldwick Wren 6').click()
    await page.getByRole('heading', { name: 'It looks like an Aldwick Wren 6. Is it one?' }).waitFor()
    // What was answered beside the type stands, and has its way back as well.
    const ways = page.getByRole('button', { name: /^Take back: / })
    const labels: (string | null)[] = []
    for (let left = await ways.count(); left > 0; left--) {
      labels.push(await ways.first().getAttribute('aria-label'))
      await ways.first().click()
      await expect.poll(() => ways.count()).toBe(left - 1)
    }
    expect(labels).toEqual(
      ['about 42 mm long', 'generation 3', 'hardware revision B'].map(l => `Take back: ${l}`),
    )
    await cards('How many servo outputs are there?').waitFor()
    expect(await page.getByRole('button', { name: /^Take back: / }).count()).toBe(0)
  })

  it('stays unknown where the person does not know', async () => {
    for (let i = 0; i < 12; i++) {
      const again = page.getByRole('button', { name: 'Ask me again' })
      if ((await again.count()) > 0) break
      const heading = page.getByRole('region', { name: 'What to look up next' }).getByRole('heading')
      const before = await heading.textContent()
      expect(await axeFinds(page)).toEqual([])
      await page.getByRole('button', { name: 'I don’t know' }).click()
      await expect
        .poll(async () => (await again.count()) > 0 || (await heading.textContent()) !== before)
        .toBe(true)
    }
    expect(await page.getByText(/stays not known/).count()).toBe(1)
    for (const text of await list().allTextContents()) expect(text).toContain('not known')
    await page.getByRole('button', { name: 'Ask me again' }).click()
  })

  it('says what contradicts itself, and what to do about it', async () => {
    await page.getByRole('button', { name: '6 outputs' }).click()
    await page.getByLabel(/^Another length/).fill('9000')
    await page.getByRole('button', { name: 'Use this' }).click()
    expect(await page.getByRole('alert').textContent()).toBe('From 5 to 300.')
    await page.getByLabel(/^Another length/).fill('90')
    await page.keyboard.press('Enter')
    await page.getByRole('heading', { name: 'No type on this bench has all that was seen.' }).waitFor()
    expect(await page.getByText('Then it could be Aldwick Wren 6 or Tamsin Heron 8.').count()).toBe(1)
    await page.getByText('Why not (6)').click()
    expect(await page.getByText('Aldwick Wren 6 is 42 mm long; seen: about 90 mm long.').count()).toBe(1)
    expect(await axeFinds(page)).toEqual([])
    await page.getByRole('button', { name: 'Take back “about 90 mm long”' }).click()
    await cards('How long is its case?').waitFor()
  })

  it('cannot be rehearsed with, and the set-up says so with the way to the questions', async () => {
    await view(/^Rehearse/)
    await page.getByText('It can be rehearsed with once its type is known.').waitFor()
    await page.getByRole('button', { name: 'Rehearse', exact: true }).click()
    await page.getByRole('alert').filter({ hasText: 'is not known yet' }).waitFor()
    expect(await axeFinds(page)).toEqual([])
    await page.getByRole('button', { name: 'Find out what it is' }).click()
    await cards('How long is its case?').waitFor()
  })

  it('is added where it is needed, and in the fleet with a type that is not known', async () => {
    await page.getByRole('button', { name: 'Add a receiver without markings' }).click()
    await cards('How many servo outputs are there?').waitFor()
    expect(await page.getByLabel('Receiver', { exact: true }).inputValue()).toBe('receiver-without-markings')
    await view(/^Fleet/)
    await page.getByText(/^18 receivers/).waitFor()
    await page.getByRole('button', { name: 'Everything on the bench' }).click()
    await page.getByRole('button', { name: 'New receiver' }).click()
    const dialog = page.getByRole('dialog')
    await dialog.getByLabel('Name', { exact: true }).fill('Found in a drawer')
    await dialog.getByLabel('Type', { exact: true }).selectOption('unknown')
    expect(await axeFinds(page)).toEqual([])
    await dialog.getByRole('button', { name: 'Add the receiver' }).click()
    await page.getByRole('row', { name: /Found in a drawer.*not known/ }).waitFor()
  })

  it('is asked for its connector with the pins drawn, where that tells types apart', async () => {
    await page.getByRole('button', { name: /^Benches/ }).click()
    const chooser = page.waitForEvent('filechooser')
    await page.getByRole('button', { name: 'Open a file…' }).click()
    const buffer = Buffer.from(writeBench(byConnector()))
    await (await chooser).setFiles({ name: 'plugs.json', mimeType: 'application/json', buffer })
    // The bench before it has changes that are not saved.
    await page.getByRole('dialog').getByRole('button', { name: 'Go on without saving' }).click()
    await page.getByRole('button', { name: 'What binds with what' }).click()
    await page.getByText('17 receivers').waitFor()
    await page.getByRole('row', { name: /flea market/ }).click()
    await page.getByRole('button', { name: 'Find out what it is' }).click()
    const plugs = cards('Which connector does the update cable go into?')
    await plugs.waitFor()
    expect(await plugs.getByRole('img').count()).toBe(2)
    expect(await axeFinds(page)).toEqual([])
    await plugs.getByRole('button', { name: /Four-pin/ }).click()
    await page.getByRole('heading', { name: /It looks like a Tamsin Curlew 12/ }).waitFor()
    expect(workbench.trouble()).toEqual({ errors: [], policyViolations: [], strayRequests: [] })
  })
})
