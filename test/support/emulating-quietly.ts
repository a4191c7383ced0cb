import { type ChildProcess, spawn } from 'node:child_process'
import { closeSync, openSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { projectRoot } from '../../main/scripts/build.mjs'
import { emulateArgs, type Told } from './emulating.ts'

const LOOK_MS = 20

/**
 * `preflash emulate` in a process of its own that writes what it tells into a file. Where time is measured, nobody
 * must be woken by each line of it.
 */
export class EmulatingQuietly {
  readonly child: ChildProcess
  readonly code: Promise<number | null>
  readonly #file: string

  /** @param folder where the file goes */
  constructor(folder: string, ...args: string[]) {
    this.#file = join(folder, 'emulate.json')
    const into = openSync(this.#file, 'w')
    const stdio = ['ignore', into, 'inherit'] as const
    this.child = spawn(process.execPath, emulateArgs(args), { cwd: projectRoot, stdio: [...stdio] })
    closeSync(into)
    this.code = new Promise(resolve => this.child.once('close', resolve))
  }

  /** @throws Error when it has ended without telling that */
  async first(event: string): Promise<Told> {
    for (;;) {
      const hasEnded = this.child.exitCode !== null || this.child.signalCode !== null
      const whole = readFileSync(this.#file, 'utf8').split('\n').slice(0, -1)
      const found = whole.map((line): Told => JSON.parse(line)).find(told => told.event === event)
      if (found) return found
      if (hasEnded) throw new Error(`the emulator ended without telling "${event}"`)
      await new Promise(resolve => setTimeout(resolve, LOOK_MS))
    }
  }
}
