import { spawn } from 'node:child_process'
import { join } from 'node:path'
import { projectRoot } from '../../main/scripts/build.mjs'
import { testFolder } from './folder.ts'

export interface CliRun {
  readonly code: number | null
  readonly out: string
  readonly err: string
}

/** Runs the command line from source, as `npm run cli -- …` does, in a process of its own. */
export function preflash(...args: readonly string[]): Promise<CliRun> {
  return preflashTyping(undefined, ...args)
}

/** The same with lines for it to read; without them its input is at its end. */
export function preflashTyping(typed: string | undefined, ...args: readonly string[]): Promise<CliRun> {
  // Nothing is read from the logbook of whoever runs the tests, nor written into it.
  const own = testFolder('cli-data')
  const run = new Promise<CliRun>((resolve, reject) => {
    const tsx = join(projectRoot, 'node_modules', 'tsx', 'dist', 'cli.mjs')
    const child = spawn(process.execPath, [tsx, join(projectRoot, 'main', 'cli', 'preflash.ts'), ...args], {
      cwd: projectRoot,
      env: { ...process.env, PREFLASH_DATA: own.path },
      stdio: [typed === undefined ? 'ignore' : 'pipe', 'pipe', 'pipe'],
    })
    child.stdin?.on('error', () => {}).end(typed)
    let out = ''
    let err = ''
    child.stdout?.setEncoding('utf8').on('data', text => {
      out += text
    })
    child.stderr?.setEncoding('utf8').on('data', text => {
      err += text
    })
    child.on('error', reject)
    child.on('close', code => resolve({ code, out, err }))
  })
  return run.finally(() => own.remove())
}
