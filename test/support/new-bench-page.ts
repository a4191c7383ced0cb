import type { Page } from 'playwright-core'

/** Drops a file on the page, as from the desktop. */
export async function dropFile(page: Page, name: string, octets: Uint8Array): Promise<void> {
  const transfer = await page.evaluateHandle(
    ([fileName, data]) => {
      const dropped = new DataTransfer()
      dropped.items.add(new File([Uint8Array.from(data)], fileName))
      return dropped
    },
    [name, [...octets]] as const,
  )
  const target = page.locator('.new-bench-drop')
  await target.dispatchEvent('dragover', { dataTransfer: transfer })
  await target.dispatchEvent('drop', { dataTransfer: transfer })
}
