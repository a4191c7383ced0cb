import { mkdirSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { app, BrowserWindow, ipcMain, Menu, protocol, screen, session } from 'electron'
import { contract } from '../../shared/api/contract.ts'
import { makeEvents, serveContract } from '../../shared/api/serve.ts'
import { ProblemError, sayProblem } from '../../shared/model/problem.ts'
import { createHandlers } from '../handlers/index.ts'
import type { StartOptions } from '../host/options.ts'
import { readStartOptions, surroundings } from '../host/options.ts'
import { APP_URL, guardContents, guardSession, SCHEME } from './guards.ts'
import { forwardEvents, registerIpc } from './ipc.ts'
import { menuTemplate } from './menu.ts'
import { onScreen, readPlace, writePlace } from './place.ts'
import { allowRequest, answerFrom, SCHEME_PRIVILEGES } from './scheme.ts'
import { windowOptions } from './window.ts'

// Built, this file lies in out/main beside out/preload and out/renderer.
const built = join(dirname(fileURLToPath(import.meta.url)), '..')
const events = makeEvents(contract)

function openWindow(dataFolder: string): void {
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
  window.on('close', () => writePlace(file, { ...window.getNormalBounds(), maximized: window.isMaximized() }))
  void window.loadURL(APP_URL)
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
  const handlers = createHandlers({
    hostKind: 'electron',
    dataFolder,
    events,
    ...(benchFile ? { benchFile } : {}),
  })
  registerIpc(
    ipcMain,
    contract,
    serveContract(contract, handlers, (error, method) => console.error(method, error)),
  )
  forwardEvents(events.listen, () => BrowserWindow.getAllWindows().map(window => window.webContents))
  Menu.setApplicationMenu(
    Menu.buildFromTemplate(
      menuTemplate(command => events.emit('menu.chosen', { command }), process.platform),
    ),
  )
  openWindow(dataFolder)
  app.on('activate', () => {
    if (BrowserWindow.getAllWindows().length === 0) openWindow(dataFolder)
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
