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
/** Ends the pair and takes it away as soon as its input ends: also when this program is killed. */
const KEEP_PAIR = `command -v socat >/dev/null || exit 1
socat "pty,raw,echo=0,link=$1" "pty,raw,echo=0,link=$2" &
read -r _
kill $!
rm -f "$1" "$2"
rmdir "$(dirname "$1")"`

/**
 * @throws ProblemError `port.no-socat` where socat is not here, or makes no pair (as on Windows)
 */
export async function makePortPair(): Promise<PortPair> {
  const folder = mkdtempSync(join(tmpdir(), 'preflash-pair-'))
  const [ours, theirs] = [join(folder, 'emulated'), join(folder, 'host')]
  const child = spawn('sh', ['-c', KEEP_PAIR, 'sh', ours, theirs], { stdio: ['pipe', 'ignore', 'ignore'] })
  const clear = () => rmSync(folder, { recursive: true, force: true })
  if (!(await haveAppeared(child, [ours, theirs]))) {
    child.stdin.end()
    clear()
    throw new ProblemError({
      code: 'port.no-socat',
      field: '--port',
      message: 'No pair of ports could be made: the program socat is not here, or does not work.',
      remedy: 'Install it (on Debian: apt install socat), or name a port with --port PATH.',
    })
  }
  // Held open, or the system would take whoever closes the far end for a hang-up.
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
    child.stdin?.end()
  })
}
