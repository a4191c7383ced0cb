import { mkdirSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { app, BrowserWindow, dialog, ipcMain, Menu, protocol, screen, session } from 'electron'
import type { AppContract } from '../../shared/api/contract.ts'
import { contract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import { makeEvents, serveContract } from '../../shared/api/serve.ts'
import { ProblemError, sayProblem } from '../../shared/model/problem.ts'
import { createHandlers } from '../handlers/index.ts'
import type { StartOptions } from '../host/options.ts'
import { readStartOptions, surroundings } from '../host/options.ts'
import { openPlaces } from '../serial/open-port.ts'
import { simulateAside, simulatorPool } from '../work/simulate.ts'
import { warmable, whenQuiet } from '../work/warm.ts'
import { CLOSING_WORDS, mayClose } from './closing.ts'
import { APP_URL, guardContents, guardSession, SCHEME } from './guards.ts'
import { forwardEvents, registerIpc } from './ipc.ts'
import { menuTemplate } from './menu.ts'
import { onScreen, readPlace, writePlace } from './place.ts'
import { allowRequest, answerFrom, SCHEME_PRIVILEGES } from './scheme.ts'
import { windowOptions } from './window.ts'

// Built, this file lies in out/main beside out/preload and out/renderer.
const built = join(dirname(fileURLToPath(import.meta.url)), '..')
const events = makeEvents(contract)

function openWindow(dataFolder: string, handlers: Handlers<AppContract>): void {
  const file = join(dataFolder, 'window.json')
  const areas = screen.getAllDisplays().map(display => display.workArea)
  const place = onScreen(readPlace(file), areas)
  const window = new BrowserWindow(windowOptions(join(built, 'preload', 'preload.cjs'), place))
  if (place.maximized) window.maximize()
  window.once('ready-to-show', () => {
    window.show()
    // Tells npm start, where that is the parent, that no fallback is needed.
    process.send?.('ready')
  })
  window.on('close', event => {
    writePlace(file, { ...window.getNormalBounds(), maximized: window.isMaximized() })
    if (openPlaces().size === 0) return
    event.preventDefault()
    void mayClose(handlers, ports => breaksOff(window, ports)).then(may => {
      if (may) window.destroy()
    })
  })
  void window.loadURL(APP_URL)
}

async function breaksOff(window: BrowserWindow, ports: readonly string[]): Promise<boolean> {
  const { response } = await dialog.showMessageBox(window, {
    type: 'warning',
    message: `A receiver is being written on ${ports.join(', ')}.`,
    detail: CLOSING_WORDS.detail,
    buttons: [...CLOSING_WORDS.buttons],
    defaultId: 0,
    cancelId: 0,
  })
  return response === 1
}

function raiseWindow(): void {
  const window = BrowserWindow.getAllWindows()[0]
  if (window?.isMinimized()) window.restore()
  window?.focus()
}

async function start({ dataFolder, benchFile }: StartOptions): Promise<void> {
  await app.whenReady()
  guardSession(session.defaultSession)
  session.defaultSession.webRequest.onBeforeRequest((details, answer) => {
    answer({ cancel: !allowRequest(details.url) })
  })
  protocol.handle(SCHEME, answerFrom(join(built, 'renderer')))
  const report = (error: unknown, method: string) => console.error(method, error)
  const { simulate, warm } = warmable(simulateAside(simulatorPool(error => report(error, 'simulator'))))
  const handlers = createHandlers({
    hostKind: 'electron',
    dataFolder,
    events,
    simulate,
    ...(benchFile ? { benchFile } : {}),
  })
  registerIpc(
    ipcMain,
    contract,
    whenQuiet(serveContract(contract, handlers, report), () => void warm()),
  )
  forwardEvents(events.listen, () => BrowserWindow.getAllWindows().map(window => window.webContents))
  Menu.setApplicationMenu(
    Menu.buildFromTemplate(
      menuTemplate(command => events.emit('menu.chosen', { command }), process.platform),
    ),
  )
  openWindow(dataFolder, handlers)
  app.on('activate', () => {
    if (BrowserWindow.getAllWindows().length === 0) openWindow(dataFolder, handlers)
  })
}

/** The arguments that are ours: Chromium's own switches come in the same list. */
function ownArguments(): string[] {
  const mark = process.argv.indexOf('--')
  return mark === -1 ? [] : process.argv.slice(mark + 1)
}

function run(): void {
  const options = readStartOptions(ownArguments(), surroundings())
  mkdirSync(options.dataFolder, { recursive: true })
  app.setPath('userData', join(options.dataFolder, 'shell'))
  // Two shells on one data folder would write the same files.
  if (!app.requestSingleInstanceLock()) {
    app.quit()
    return
  }
  protocol.registerSchemesAsPrivileged([SCHEME_PRIVILEGES])
  app.enableSandbox()
  app.on('web-contents-created', (_event, contents) => guardContents(contents))
  app.on('second-instance', raiseWindow)
  app.on('window-all-closed', () => app.quit())
  start(options).catch(error => {
    console.error(error)
    app.exit(1)
  })
}

try {
  run()
} catch (error) {
  if (!(error instanceof ProblemError)) throw error
  console.error(sayProblem(error.problem))
  app.exit(2)
}
