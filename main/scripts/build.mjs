/** Builds shell, host, command line and pages, but only when something that goes into them has changed. */
import { spawnSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs'
import { dirname, join, resolve } from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'

export const projectRoot = join(dirname(fileURLToPath(import.meta.url)), '..', '..')
const SOURCES = ['main', 'renderer', 'shared', 'electron.vite.config.ts', 'package.json', 'package-lock.json']
const BUILT = ['main', 'preload', 'renderer']

/**
 * Digest over the names and contents of all that a build reads.
 * @param {string} root
 */
export function sourceDigest(root) {
  const hash = createHash('sha256')
  for (const file of SOURCES.flatMap(name => filesBelow(root, name))) {
    const bytes = readFileSync(join(root, file))
    hash.update(`${file}\0${bytes.length}\0`).update(bytes)
  }
  return hash.digest('hex')
}

/**
 * @param {string} root
 * @param {string} name
 * @returns {string[]}
 */
function filesBelow(root, name) {
  if (!existsSync(join(root, name))) return []
  if (name.includes('.')) return [name]
  return readdirSync(join(root, name), { recursive: true, withFileTypes: true })
    .filter(entry => entry.isFile())
    .map(entry => join(entry.parentPath, entry.name).slice(resolve(root).length + 1))
    .sort()
}

/**
 * Builds when needed. The new files are built aside and moved in when whole, so a build that fails leaves the last
 * good one, and a host that is running never serves half of each.
 * @param {string} [root]
 * @returns {{ built: boolean, ok: boolean, output: string }}
 */
export function ensureBuilt(root = projectRoot) {
  const out = join(root, 'out')
  const mark = join(out, 'built-from')
  const digest = sourceDigest(root)
  if (existsSync(mark) && readFileSync(mark, 'utf8') === digest) return { built: false, ok: true, output: '' }
  const next = join(out, `next-${process.pid}`)
  try {
    const vite = join(root, 'node_modules', 'electron-vite', 'bin', 'electron-vite.js')
    const run = spawnSync(process.execPath, [vite, 'build', '--logLevel', 'warn'], {
      cwd: root,
      env: { ...process.env, PREFLASH_OUT: next, NODE_ENV: 'production' },
      encoding: 'utf8',
    })
    const output = `${run.stdout}${run.stderr}`
    if (run.status !== 0) return { built: true, ok: false, output }
    rmSync(mark, { force: true })
    for (const part of BUILT) swap(join(next, part), join(out, part), join(next, `old-${part}`))
    writeFileSync(mark, digest)
    return { built: true, ok: true, output }
  } finally {
    rmSync(next, { recursive: true, force: true })
  }
}

/**
 * @param {string} fresh
 * @param {string} place
 * @param {string} aside
 */
function swap(fresh, place, aside) {
  mkdirSync(dirname(place), { recursive: true })
  if (existsSync(place)) renameSync(place, aside)
  renameSync(fresh, place)
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  const { built, ok, output } = ensureBuilt()
  if (output !== '') process.stdout.write(output)
  console.log(ok ? (built ? 'Built.' : 'Nothing has changed since the last build.') : 'The build failed.')
  process.exitCode = ok ? 0 : 1
}
