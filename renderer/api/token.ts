interface AddressBar {
  readonly hash: string
  readonly pathname: string
  readonly search: string
}
interface Keep {
  getItem(name: string): string | null
  setItem(name: string, value: string): void
}

const KEPT = 'preflash.token'
const IN_FRAGMENT = /^#token=([A-Za-z0-9_-]{20,100})$/

/**
 * The host's token: from the address when it was just opened, from the tab's own memory after a reload. It is taken
 * out of the address, so that it does not get into bookmarks and screenshots.
 */
export function takeToken(address: AddressBar, keep: Keep, showAddress: (url: string) => void): string {
  const found = IN_FRAGMENT.exec(address.hash)?.[1]
  if (found === undefined) return keep.getItem(KEPT) ?? ''
  keep.setItem(KEPT, found)
  showAddress(address.pathname + address.search)
  return found
}
