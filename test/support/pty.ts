import { type ChildProcess, spawn } from 'node:child_process'
import { closeSync, constants, existsSync, openSync } from 'node:fs'
import { join } from 'node:path'
import { type TestFolder, testFolder } from './folder.ts'

/**
 * Two serial ports that are one line, made by socat from pseudo-terminals. They know neither baud nor parity nor
 * control lines. A suite that uses them is written
 *
 *   describe.skipIf(needs('socat') === undefined)(titled('over a pair of ports', 'socat'), () => …)
 */
export interface PtyPair {
  readonly a: string
  readonly b: string
  /** Pulls the cable: both ends hang up. */
  hangUp(): Promise<void>
  /** Ends socat and takes the links away. */
  end(): Promise<void>
}

/** Longer than any test may take: a pair that a killed test left behind ends by itself. */
const LIFE_SECONDS = 180
const APPEAR_MS = 5000

/**
 * @param held keeps both ends open all the time, so that the pair outlives whoever opens and closes one; without it
 * socat ends with the first close
 */
export async function ptyPair({ held = true }: { held?: boolean } = {}): Promise<PtyPair> {
  const folder = testFolder('pty')
  const [a, b] = [join(folder.path, 'A'), join(folder.path, 'B')]
  const end = (link: string) => `pty,raw,echo=0,link=${link}`
  const child = spawn('timeout', ['-k', '1', String(LIFE_SECONDS), 'socat', end(a), end(b)], {
    stdio: 'ignore',
  })
  await appeared([a, b], child)
  const flags = constants.O_RDWR | constants.O_NOCTTY | constants.O_NONBLOCK
  return new Pair(a, b, child, held ? [openSync(a, flags), openSync(b, flags)] : [], folder)
}

async function appeared(paths: readonly string[], child: ChildProcess): Promise<void> {
  for (let waited = 0; !paths.every(existsSync); waited += 5) {
    if (waited > APPEAR_MS || child.exitCode !== null) throw new Error('socat made no pair of ports')
    await new Promise(resolve => setTimeout(resolve, 5))
  }
}

class Pair implements PtyPair {
  readonly a: string
  readonly b: string
  readonly #child: ChildProcess
  readonly #holders: number[]
  readonly #folder: TestFolder

  constructor(a: string, b: string, child: ChildProcess, holders: number[], folder: TestFolder) {
    this.a = a
    this.b = b
    this.#child = child
    this.#holders = holders
    this.#folder = folder
  }

  async hangUp(): Promise<void> {
    if (this.#child.exitCode !== null || this.#child.signalCode !== null) return
    const gone = new Promise(resolve => this.#child.once('exit', resolve))
    this.#child.kill()
    await gone
  }

  async end(): Promise<void> {
    await this.hangUp()
    for (const fd of this.#holders.splice(0)) closeSync(fd)
    this.#folder.remove()
  }
}

export interface ProgramAtPty {
  /** The port at whose other end the program talks. */
  readonly path: string
  /** Resolves when the program has ended, by itself or because its time was over. */
  readonly ended: Promise<void>
  end(): Promise<void>
}

/**
 * A program that speaks on its standard input and output, at the other end of a port; it starts when somebody opens
 * the port. Programs that flush their terminal as they end lose nothing so, for theirs is a socket pair.
 * @param command as a shell has it, run in `folder`
 */
export async function programAtPty(command: string, folder: string): Promise<ProgramAtPty> {
  const path = join(folder, 'port')
  const ends = [
    `pty,raw,echo=0,link=${path},wait-slave,pty-interval=0.02`,
    `SYSTEM:cd ${folder} && ${command}`,
  ]
  const child = spawn('timeout', ['-k', '1', '60', 'socat', ...ends], { stdio: 'ignore' })
  const ended = new Promise<void>(resolve => child.once('exit', () => resolve()))
  await appeared([path], child)
  const end = async () => {
    if (child.exitCode === null && child.signalCode === null) child.kill()
    await ended
  }
  return { path, ended, end }
}
