/** Whether the desktop shell can run here, and how to get it. Electron's package carries no binary of its own. */
import { spawn, spawnSync } from 'node:child_process'
import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'

const FETCH_MS = 180_000

/**
 * Path of the Electron binary, or undefined when it is not on this machine.
 * @param {string} root project folder
 * @param {NodeJS.ProcessEnv} [env]
 * @returns {string | undefined}
 */
export function electronBinary(root, env = process.env) {
  const home = join(root, 'node_modules', 'electron')
  const pathFile = join(home, 'path.txt')
  const name = existsSync(pathFile) ? readFileSync(pathFile, 'utf8') : undefined
  const override = env.ELECTRON_OVERRIDE_DIST_PATH
  if (override === undefined && name === undefined) return undefined
  const binary = join(override ?? join(home, 'dist'), name ?? 'electron')
  return existsSync(binary) ? binary : undefined
}

/**
 * Why a window cannot be shown here, in words for a person; undefined when it can.
 * @param {NodeJS.ProcessEnv} env
 * @param {NodeJS.Platform} platform
 * @param {number | undefined} uid
 * @returns {string | undefined}
 */
export function noWindowBecause(env, platform, uid) {
  if (platform !== 'linux') return undefined
  if (!env.DISPLAY && !env.WAYLAND_DISPLAY) return 'this machine has no display'
  // Chromium's sandbox does not start for root, and without the sandbox we do not start.
  if (uid === 0) return 'a desktop window does not open safely for the root user'
  return undefined
}

/**
 * Fetches the binary by the package's own means. Offline this fails at once.
 * @param {string} root
 * @returns {string | undefined} the binary's path, or undefined when it could not be had
 */
export function fetchElectron(root) {
  const install = join(root, 'node_modules', 'electron', 'install.js')
  spawnSync(process.execPath, [install], { stdio: 'ignore', timeout: FETCH_MS })
  return electronBinary(root)
}

/**
 * Runs the shell until it ends. `ready` is false when it ended with an error before its window was there.
 * @param {string} binary
 * @param {string} root
 * @param {readonly string[]} args
 * @returns {Promise<{ ready: boolean, code: number }>}
 */
export function runElectron(binary, root, args) {
  return new Promise(resolve => {
    let ready = false
    const child = spawn(binary, [root, '--', ...args], { stdio: ['inherit', 'inherit', 'inherit', 'ipc'] })
    const pass = (/** @type {NodeJS.Signals} */ signal) => child.kill(signal)
    process.on('SIGINT', pass).on('SIGTERM', pass)
    const end = (/** @type {number} */ code) => {
      process.off('SIGINT', pass).off('SIGTERM', pass)
      resolve({ ready, code })
    }
    child.on('message', message => {
      if (message === 'ready') ready = true
    })
    child.once('error', () => end(1))
    child.once('exit', code => end(code ?? 1))
  })
}
