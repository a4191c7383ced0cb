import { type ChildProcess, spawn } from 'node:child_process'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { projectRoot } from '../../main/scripts/build.mjs'

export interface Told {
  readonly event: string
  readonly text?: string
  readonly hostPort?: string
  readonly why?: string
  readonly heardOctets?: number
  readonly hostMs?: number
  readonly exchangeMs?: number
  readonly lateness?: { meanMs: number; worstMs: number }
  readonly held?: { outcome: string; firmware: string; programSha256: string }
}

/** What Node.js is called with for it; on a new pair of ports if none is named. */
export function emulateArgs(args: readonly string[]): string[] {
  // Not through tsx's own command, which would have the signals and not pass all of them on.
  const tsx = pathToFileURL(join(projectRoot, 'node_modules', 'tsx', 'dist', 'loader.mjs')).href
  const main = join(projectRoot, 'main', 'cli', 'preflash.ts')
  const where = args.includes('--port') ? [] : ['--port', 'new']
  return ['--import', tsx, main, 'emulate', ...where, '--json', ...args]
}

/** `preflash emulate` in a process of its own, with each line of its JSON; on a new pair of ports if none is named. */
export class Emulating {
  readonly told: Told[] = []
  readonly code: Promise<number | null>
  readonly child: ChildProcess
  private wake = () => {}

  constructor(...args: string[]) {
    this.child = spawn(process.execPath, emulateArgs(args), {
      cwd: projectRoot,
      stdio: ['ignore', 'pipe', 'inherit'],
    })
    this.code = new Promise(resolve => this.child.once('close', resolve))
    let rest = ''
    this.child.stdout?.setEncoding('utf8').on('data', (text: string) => {
      const lines = (rest + text).split('\n')
      rest = lines.pop() ?? ''
      for (const line of lines) this.told.push(JSON.parse(line))
      this.wake()
    })
  }

  async first(event: string): Promise<Told> {
    for (;;) {
      const found = this.told.find(t => t.event === event)
      if (found) return found
      await new Promise<void>(resolve => {
        this.wake = resolve
      })
    }
  }
}
