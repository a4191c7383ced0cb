/**
 * npm start: builds what has changed, then opens the desktop shell, or, where that cannot be, serves the same
 * workbench to the browser. Arguments: [BENCH-FILE] [--browser] [--no-open] [--port N] [--data FOLDER]
 */
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { ensureBuilt, projectRoot } from './build.mjs'
import { electronBinary, fetchElectron, noWindowBecause, runElectron } from './electron.mjs'

const BAD_ARGUMENTS = 2
const given = process.argv.slice(2)
// A port or an unopened page is a wish that only the browser host can fulfil.
const wantsBrowser = given.some(arg => /^--(browser|no-open|port)(=|$)/.test(arg))
const args = given.filter(arg => arg !== '--browser')

const { ok, output } = ensureBuilt()
if (!ok) {
  process.stderr.write(output)
  console.error('Preflash could not be built, so it was not started.')
  process.exit(1)
}

const instead = wantsBrowser ? undefined : await tryElectron()
if (instead !== undefined)
  console.log(`No desktop window, because ${instead}; serving the workbench to the browser.`)
await serveToBrowser()

/** @returns {Promise<string>} why the shell did not run; when it did, the process ends with it */
async function tryElectron() {
  const reason = noWindowBecause(process.env, process.platform, process.getuid?.())
  if (reason !== undefined) return reason
  let binary = electronBinary(projectRoot)
  if (binary === undefined) {
    console.log('Fetching Electron, once, about 110 MB …')
    binary = fetchElectron(projectRoot)
  }
  if (binary === undefined) return 'Electron is not on this machine and could not be fetched'
  const { ready, code } = await runElectron(binary, projectRoot, args)
  if (ready || code === 0 || code === BAD_ARGUMENTS) process.exit(code)
  return `Electron would not start (it ended with code ${code})`
}

async function serveToBrowser() {
  const host = join(projectRoot, 'out', 'main', 'host.js')
  process.argv = [process.argv[0], host, ...args]
  await import(pathToFileURL(host).href)
}
