import type { ChildProcess } from 'node:child_process'
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { projectRoot } from '../../main/scripts/build.mjs'
import { testFolder } from './folder.ts'

export interface TestHost {
  /** Address with the token. */
  readonly url: string
  readonly dataFolder: string
  readonly process: ChildProcess
  /** All that the host has printed so far, both streams. */
  output(): string
  /** Stops the host and removes its data folder. */
  stop(): Promise<void>
}

export interface TestHostOptions {
  readonly benchFile?: string
  readonly env?: Readonly<Record<string, string>>
  /** Kept, not removed, when given. */
  readonly dataFolder?: string
}

/** Starts the built host in a process of its own, with a fresh data folder, and waits for its address. */
export async function startTestHost(options: TestHostOptions = {}): Promise<TestHost> {
  const script = join(projectRoot, 'out', 'main', 'host.js')
  if (!existsSync(script)) throw new Error('The host is not built; run npm run build first.')
  const folder = options.dataFolder === undefined ? testFolder('data') : undefined
  const dataFolder = options.dataFolder ?? folder!.path
  const args = [script, '--no-open', '--data', dataFolder, ...(options.benchFile ? [options.benchFile] : [])]
  const child = spawn(process.execPath, args, {
    cwd: projectRoot,
    env: { ...process.env, ...options.env },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  let output = ''
  const url = await new Promise<string>((resolve, reject) => {
    const read = (chunk: Buffer) => {
      output += chunk.toString('utf8')
      const found = /http:\/\/127\.0\.0\.1:\d+\/#token=[A-Za-z0-9_-]+/.exec(output)
      if (found !== null) resolve(found[0])
    }
    child.stdout.on('data', read)
    child.stderr.on('data', read)
    child.once('exit', code =>
      reject(new Error(`The host ended with ${code} before it was ready.\n${output}`)),
    )
  })
  return {
    url,
    dataFolder,
    process: child,
    output: () => output,
    async stop() {
      if (child.exitCode === null && child.signalCode === null) {
        const gone = once(child, 'exit')
        child.kill('SIGTERM')
        await gone
      }
      folder?.remove()
    },
  }
}
