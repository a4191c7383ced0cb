/** What a page may do, decided without Electron so that it can be tested without it. */
export const SCHEME = 'preflash'
export const APP_HOST = 'app'
export const APP_URL = `${SCHEME}://${APP_HOST}/`

/** Whether an address is a page of the workbench. Compared by parsed parts: text would let `preflash://app.evil` by. */
export function isAppUrl(url: string): boolean {
  if (!URL.canParse(url)) return false
  const { protocol, host, username, password } = new URL(url)
  return protocol === `${SCHEME}:` && host === APP_HOST && username === '' && password === ''
}

/** The workbench is one page: nothing navigates, but a reload of that page is no navigation away. */
export const allowNavigation = (url: string): boolean => isAppUrl(url) && new URL(url).pathname === '/'

/**
 * The one permission that is granted keeps the screen on during a run: no camera, no location, no notifications, no
 * device access from the page.
 */
export const allowPermission = (permission: string): boolean => permission === 'screen-wake-lock'

/** A call counts only from the top frame of a page of ours; a missing frame has gone away or is hidden. */
export function isTrustedSender(frame: FrameLike | null | undefined): boolean {
  return frame !== null && frame !== undefined && frame.parent === null && isAppUrl(frame.url)
}

export interface FrameLike {
  readonly url: string
  readonly parent: unknown
}

interface Preventable {
  preventDefault(): void
}

/** The part of Electron's WebContents that the guards take hold of. */
export interface ContentsLike {
  setWindowOpenHandler(handler: (details: { url: string }) => { action: 'deny' }): void
  on(event: 'will-navigate', listener: (event: Preventable & { url: string }) => void): unknown
  on(event: 'will-redirect', listener: (event: Preventable & { url: string }) => void): unknown
  on(event: 'will-frame-navigate', listener: (event: Preventable & { url: string }) => void): unknown
  on(event: 'will-attach-webview', listener: (event: Preventable) => void): unknown
}

/** The part of Electron's Session that the guards take hold of. */
export interface SessionLike {
  setPermissionRequestHandler(
    handler: (contents: unknown, permission: string, answer: (granted: boolean) => void) => void,
  ): void
  setPermissionCheckHandler(handler: (contents: unknown, permission: string) => boolean): void
  setDevicePermissionHandler(handler: () => boolean): void
}

/** Shuts the ways out of a page. To be called for every contents that comes into being, whatever made it. */
export function guardContents(contents: ContentsLike): void {
  contents.setWindowOpenHandler(() => ({ action: 'deny' }))
  const stay = (event: Preventable & { url: string }) => {
    if (!allowNavigation(event.url)) event.preventDefault()
  }
  contents.on('will-navigate', stay)
  contents.on('will-redirect', stay)
  contents.on('will-frame-navigate', stay)
  contents.on('will-attach-webview', event => event.preventDefault())
}

/** Refuses every device, and every permission that `allowPermission` does not name, asked for or looked up. */
export function guardSession(session: SessionLike): void {
  session.setPermissionRequestHandler((_contents, permission, answer) => answer(allowPermission(permission)))
  session.setPermissionCheckHandler((_contents, permission) => allowPermission(permission))
  session.setDevicePermissionHandler(() => false)
}
