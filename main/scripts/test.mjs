/**
 * npm test: sees to the programs that the tests need, checks types and style, builds, runs every test, and closes
 * with the counts alone on the last line. Arguments are handed to vitest: npm test -- test/image
 */
import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { ensureBuilt, projectRoot } from './build.mjs'
import { electronBinary, noWindowBecause } from './electron.mjs'
import { sayTally, tallyReport } from './tally.mjs'
import { provideTools } from './tools.mjs'

const say = (/** @type {string} */ line) => console.log(line)
const report = join(projectRoot, 'test-results', 'vitest.json')

/**
 * Runs a package's command with its output shown.
 * @param {string} script path below node_modules
 * @param {readonly string[]} args
 */
function run(script, ...args) {
  const file = join(projectRoot, 'node_modules', script)
  return spawnSync(process.execPath, [file, ...args], { cwd: projectRoot, stdio: 'inherit' }).status === 0
}

function sayWhatIsLeftOut() {
  for (const tool of provideTools(say)) say(`Left out: ${tool.for}, because ${tool.name} is not here.`)
  const noWindow = noWindowBecause(process.env, process.platform, process.getuid?.())
  const reason = electronBinary(projectRoot) === undefined ? "Electron's binary is not here" : noWindow
  if (reason !== undefined) say(`Left out: the tests that drive the desktop window, because ${reason}.`)
}

function checks() {
  const build = () => {
    const { ok, output } = ensureBuilt()
    if (output !== '') process.stdout.write(output)
    return ok
  }
  /** @type {readonly [string, () => boolean][]} */
  const steps = [
    ['types', () => run('typescript/bin/tsc', '--noEmit')],
    ['types of shared/, without Node and DOM', () => run('typescript/bin/tsc', '--noEmit', '-p', 'shared')],
    ['style', () => run('@biomejs/biome/bin/biome', 'check', '--diagnostic-level=error')],
    ['build', build],
  ]
  return steps.map(([name, step]) => {
    const ok = step()
    say(`${name}: ${ok ? 'good' : 'FAILED'}`)
    return ok
  })
}

/** @param {readonly string[]} args */
function tests(args) {
  rmSync(report, { force: true })
  mkdirSync(join(projectRoot, 'test-results'), { recursive: true })
  const ok = run(
    'vitest/vitest.mjs',
    'run',
    '--reporter=default',
    '--reporter=json',
    `--outputFile.json=${report}`,
    ...args,
  )
  const tally = existsSync(report)
    ? tallyReport(JSON.parse(readFileSync(report, 'utf8')))
    : { passed: 0, failed: 1, skipped: 0 }
  // An error outside any test, as an unhandled rejection, fails the run without failing a test.
  return ok || tally.failed > 0 ? tally : { ...tally, failed: 1 }
}

sayWhatIsLeftOut()
const failedChecks = checks().filter(ok => !ok).length
const tally = tests(process.argv.slice(2))
const total = { ...tally, failed: tally.failed + failedChecks }
say(sayTally(total))
process.exitCode = total.failed === 0 && total.passed > 0 ? 0 : 1
