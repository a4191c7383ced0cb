import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { abilityText, KNOWN_ADAPTERS, knownAdapter } from '../../main/serial/usb-ids.ts'
import { needs, titled } from '../support/needs.ts'

/** Vendor and product names of the public list of USB ids, as its own head describes the format. */
function publicList(text: string): Map<string, string> {
  const names = new Map<string, string>()
  let vendor = ''
  for (const line of text.split('\n')) {
    const isVendor = /^([0-9a-f]{4}) {2}(.+)$/.exec(line)
    if (isVendor) {
      vendor = isVendor[1]
      names.set(vendor, isVendor[2])
    }
    const product = /^\t([0-9a-f]{4}) {2}(.+)$/.exec(line)
    if (product && vendor !== '') names.set(`${vendor}:${product[1]}`, product[2])
    // Other lists follow, of classes and languages.
    if (/^[A-Z]+ /.test(line)) vendor = ''
  }
  return names
}

/** The chip's name as it stands in the public list: its letters and digits without the makers' words around it. */
const chipOf = (name: string): string => /[A-Z]{2,}\d+[A-Z]*|virtual COM port|bridge/i.exec(name)?.[0] ?? name

describe.skipIf(needs('usb.ids') === undefined)(
  titled('against the public list of USB ids', 'usb.ids'),
  () => {
    const list = publicList(readFileSync(needs('usb.ids') ?? '/dev/null', 'utf8'))

    it.each(KNOWN_ADAPTERS.map(a => [`${a.vendorId}:${a.productId}`, a] as const))(
      '%s is what it says',
      (id, a) => {
        const [vendor, product] = [list.get(a.vendorId), list.get(id)]
        expect(vendor).toBeDefined()
        expect(a.name.split(' ')[0].toLowerCase()).toBe(vendor?.split(' ')[0].toLowerCase())
        const chip = chipOf(a.name).toLowerCase()
        expect(product?.toLowerCase()).toContain(chip)
      },
    )
  },
)

describe('an adapter', () => {
  it('that is not in the list is unknown, never an error', () => {
    // Not in usb.ids 2025.07.26.
    expect(knownAdapter('303a', '1001')).toBeUndefined()
    expect(knownAdapter('', 'rubbish')).toBeUndefined()
    expect(abilityText(undefined)).toBe('not known')
  })
  it('is found in capitals, too', () => {
    expect(knownAdapter('10C4', 'EA60')?.name).toBe('Silicon Labs CP210x')
  })
})
