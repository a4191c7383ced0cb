import { type ChildProcess, spawn } from 'node:child_process'
import { closeSync, constants, existsSync, mkdtempSync, openSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { ProblemError } from '../../shared/model/problem.ts'

/** Two ports of this computer that are one line, made by socat from pseudo-terminals. */
export interface PortPair {
  readonly ours: string
  readonly theirs: string
  /** Takes the pair away. */
  end(): Promise<void>
}

const APPEAR_MS = 5000
const LOOK_MS = 10

/**
 * @throws ProblemError `port.no-socat` where socat is not here, or makes no pair (as on Windows)
 */
export async function makePortPair(): Promise<PortPair> {
  const folder = mkdtempSync(join(tmpdir(), 'preflash-pair-'))
  const [ours, theirs] = [join(folder, 'emulated'), join(folder, 'host')]
  const end = (link: string) => `pty,raw,echo=0,link=${link}`
  const child = spawn('socat', [end(ours), end(theirs)], { stdio: 'ignore' })
  const clear = () => rmSync(folder, { recursive: true, force: true })
  if (!(await haveAppeared(child, [ours, theirs]))) {
    child.kill()
    clear()
    throw new ProblemError({
      code: 'port.no-socat',
      field: '--port',
      message: 'No pair of ports could be made: the program socat is not here, or does not work.',
      remedy: 'Install it (on Debian: apt install socat), or name a port with --port PATH.',
    })
  }
  // Held open, or socat would end the pair as soon as whoever uses the far end closes it.
  const holder = openSync(theirs, constants.O_RDWR | constants.O_NOCTTY | constants.O_NONBLOCK)
  return {
    ours,
    theirs,
    end: async () => {
      closeSync(holder)
      await gone(child)
      clear()
    },
  }
}

async function haveAppeared(child: ChildProcess, paths: readonly string[]): Promise<boolean> {
  let isGone = false
  child.once('error', () => {
    isGone = true
  })
  child.once('exit', () => {
    isGone = true
  })
  for (let waitedMs = 0; waitedMs < APPEAR_MS && !isGone; waitedMs += LOOK_MS) {
    if (paths.every(existsSync)) return true
    await new Promise(resolve => setTimeout(resolve, LOOK_MS))
  }
  return false
}

function gone(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return Promise.resolve()
  return new Promise(resolve => {
    child.once('exit', () => resolve())
    child.kill()
  })
}
