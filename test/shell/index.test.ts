import type { BrowserWindowConstructorOptions } from 'electron'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

/** An Electron that only writes down what the shell does with it. */
const electron = vi.hoisted(() => {
  const windows: { options: unknown; url?: string }[] = []
  class BrowserWindow {
    static readonly getAllWindows = () => windows
    readonly options: BrowserWindowConstructorOptions
    url?: string
    readonly once = vi.fn()
    readonly on = vi.fn()
    constructor(options: BrowserWindowConstructorOptions) {
      this.options = options
      windows.push(this)
    }
    async loadURL(url: string) {
      this.url = url
    }
  }
  return {
    windows,
    BrowserWindow,
    app: {
      setPath: vi.fn(),
      requestSingleInstanceLock: vi.fn(() => true),
      enableSandbox: vi.fn(),
      on: vi.fn(),
      quit: vi.fn(),
      exit: vi.fn(),
      whenReady: async () => {},
    },
    ipcMain: { handle: vi.fn() },
    Menu: { setApplicationMenu: vi.fn(), buildFromTemplate: vi.fn() },
    protocol: { registerSchemesAsPrivileged: vi.fn(), handle: vi.fn() },
    screen: { getAllDisplays: () => [{ workArea: { x: 0, y: 0, width: 1_920, height: 1_080 } }] },
    session: {
      defaultSession: {
        setPermissionRequestHandler: vi.fn(),
        setPermissionCheckHandler: vi.fn(),
        setDevicePermissionHandler: vi.fn(),
        webRequest: { onBeforeRequest: vi.fn() },
      },
    },
  }
})
vi.mock('electron', () => electron)

describe('the shell as it starts', () => {
  let folder: TestFolder
  const { argv } = process

  beforeEach(() => {
    folder = testFolder('shell')
    vi.resetModules()
    vi.clearAllMocks()
    electron.windows.length = 0
  })
  afterEach(() => {
    process.argv = argv
    folder.remove()
  })

  async function startShell(...args: string[]) {
    process.argv = ['electron', '.', '--', '--data', folder.path, ...args]
    await import('../../main/shell/index.ts')
    await new Promise(resolve => setImmediate(resolve))
  }

  it('puts every renderer into the sandbox, before anything is shown', async () => {
    await startShell()
    expect(electron.app.enableSandbox).toHaveBeenCalledOnce()
  })

  it('opens one window, isolated, on our own page', async () => {
    await startShell()
    expect(electron.windows).toHaveLength(1)
    const [{ options, url }] = electron.windows
    expect(url).toBe('preflash://app/')
    expect(options).toMatchObject({
      webPreferences: { contextIsolation: true, sandbox: true, nodeIntegration: false, webSecurity: true },
    })
  })

  it('guards every contents that comes into being', async () => {
    await startShell()
    const created = electron.app.on.mock.calls.find(([name]) => name === 'web-contents-created')?.[1]
    const contents = { setWindowOpenHandler: vi.fn(), on: vi.fn() }
    created({}, contents)
    expect(contents.setWindowOpenHandler.mock.calls[0][0]({ url: 'https://evil.example/' })).toEqual({
      action: 'deny',
    })
    expect(contents.on.mock.calls.map(([name]) => name)).toContain('will-navigate')
  })

  it('denies permissions in the session that its windows use', async () => {
    await startShell()
    const { setPermissionRequestHandler, setPermissionCheckHandler } = electron.session.defaultSession
    const answer = vi.fn()
    setPermissionRequestHandler.mock.calls[0][0](null, 'media', answer)
    expect(answer).toHaveBeenCalledWith(false)
    expect(setPermissionCheckHandler.mock.calls[0][0](null, 'media')).toBe(false)
  })

  it('lets no request out to the network', async () => {
    await startShell()
    const ask = electron.session.defaultSession.webRequest.onBeforeRequest.mock.calls[0][0]
    const answer = vi.fn()
    ask({ url: 'https://evil.example/' }, answer)
    ask({ url: 'preflash://app/' }, answer)
    expect(answer.mock.calls).toEqual([[{ cancel: true }], [{ cancel: false }]])
  })

  it('serves pages over our own scheme, and calls only to our own page', async () => {
    await startShell()
    expect(electron.protocol.handle.mock.calls[0][0]).toBe('preflash')
    const [channel, listener] =
      electron.ipcMain.handle.mock.calls.find(([name]) => name.endsWith('app.info')) ?? []
    expect(channel).toBe('preflash:call:app.info')
    expect(await listener({ senderFrame: { url: 'preflash://app/', parent: null } }, {})).toMatchObject({
      ok: true,
      reply: { hostKind: 'electron', dataFolder: folder.path },
    })
    expect(await listener({ senderFrame: { url: 'https://evil.example/', parent: null } }, {})).toMatchObject(
      { ok: false },
    )
  })

  it('gives way to a shell that is already open on the same data', async () => {
    electron.app.requestSingleInstanceLock.mockReturnValueOnce(false)
    await startShell()
    expect(electron.app.quit).toHaveBeenCalledOnce()
    expect(electron.windows).toHaveLength(0)
  })

  it('ends with code 2 on arguments it does not know', async () => {
    const said = vi.spyOn(console, 'error').mockImplementation(() => {})
    await startShell('--wrong')
    expect(electron.app.exit).toHaveBeenCalledWith(2)
    expect(said.mock.calls[0][0]).toContain('--wrong')
    expect(electron.windows).toHaveLength(0)
  })
})
