import type { Locator, Page } from 'playwright-core'

/** Steps on the rehearsal view that several tests take. */
export async function openRehearsal(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Open the demo bench' }).click()
  await page
    .getByRole('navigation', { name: 'Views' })
    .getByRole('button', { name: /^Rehearse/ })
    .click()
  await page.getByRole('form', { name: 'Set up the rehearsal' }).waitFor()
}

export async function chooseReceiver(page: Page, search: string, nickname: string): Promise<void> {
  await page.getByRole('button', { name: 'Change' }).click()
  await page.getByRole('searchbox', { name: 'Search' }).fill(search)
  await page.getByRole('radio', { name: nickname }).check()
  await page.getByRole('button', { name: 'Close list' }).click()
}

/** Presses Rehearse and stops the playback at its start. */
export async function rehearse(page: Page): Promise<void> {
  const before = await page.locator('.rh-side').count()
  await page.getByRole('button', { name: before === 0 ? 'Rehearse' : 'Rehearse again', exact: true }).click()
  const play = page.locator('.rh-play').filter({ hasText: /^(Pause|Play)$/ })
  await play.waitFor()
  if ((await play.textContent()) === 'Pause') await play.click()
  await toStart(page)
}

/** The button may have nothing to do; the key never minds. */
export const toStart = (page: Page): Promise<void> => page.keyboard.press('Home')

export const button = (page: Page, name: string): Locator => page.getByRole('button', { name, exact: true })

/** Where the play head is, in milliseconds. */
export async function headMs(page: Page): Promise<number> {
  return Number(await page.getByRole('slider', { name: 'Play head' }).getAttribute('aria-valuenow'))
}

export async function endMs(page: Page): Promise<number> {
  return Number(await page.getByRole('slider', { name: 'Play head' }).getAttribute('aria-valuemax'))
}

/** Drops a file on the view, as from the desktop. */
export async function dropFile(page: Page, name: string, octets: Uint8Array): Promise<void> {
  const transfer = await page.evaluateHandle(
    ([fileName, data]) => {
      const dropped = new DataTransfer()
      dropped.items.add(new File([Uint8Array.from(data)], fileName))
      return dropped
    },
    [name, [...octets]] as const,
  )
  const view = page.locator('.rh-view')
  await view.dispatchEvent('dragover', { dataTransfer: transfer })
  await view.dispatchEvent('drop', { dataTransfer: transfer })
}

/** Intel HEX of one run of octets below 64 KiB, written for the tests: records of 16 octets, type 00, and the end. */
export function intelHex(address: number, octets: Uint8Array): string {
  const record = (at: number, type: number, data: readonly number[]) => {
    const bytes = [data.length, at >> 8, at & 0xff, type, ...data]
    const sum = (256 - (bytes.reduce((a, b) => a + b, 0) & 0xff)) & 0xff
    return `:${[...bytes, sum].map(b => b.toString(16).toUpperCase().padStart(2, '0')).join('')}`
  }
  const lines: string[] = []
  for (let i = 0; i < octets.length; i += 16)
    lines.push(record(address + i, 0, [...octets.subarray(i, i + 16)]))
  return `${lines.join('\n')}\n:00000001FF\n`
}

/** Octets that look like a program and compress like one: nothing is all FF. */
export const someOctets = (count: number): Uint8Array =>
  Uint8Array.from({ length: count }, (_, i) => (i * 167 + (i >> 5)) & 0x7f)

/** Whether a picture has anything in it besides one colour. */
export async function colours(canvas: Locator): Promise<number> {
  return canvas.evaluate(element => {
    const picture = element as HTMLCanvasElement
    const { data } = picture.getContext('2d')!.getImageData(0, 0, picture.width, picture.height)
    const seen = new Set<number>()
    for (let i = 0; i < data.length && seen.size < 500; i += 4)
      seen.add((data[i] << 24) | (data[i + 1] << 16) | (data[i + 2] << 8) | data[i + 3])
    return seen.size
  })
}
