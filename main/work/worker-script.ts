import { existsSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'

export interface WorkerScript {
  readonly file: URL
  readonly workerData: Readonly<Record<string, unknown>>
}

/** How a TypeScript file is run as a worker from source. */
export const sourceScript = (path: string): WorkerScript => ({
  file: pathToFileURL(join(dirname(fileURLToPath(import.meta.url)), 'from-source.mjs')),
  workerData: { script: pathToFileURL(path).href },
})

/** The worker that reads files. */
export const readerScript = (): WorkerScript => scriptOf('read-worker.ts', 'reader.js')

/** The worker that rehearses and diagnoses. */
export const simulatorScript = (): WorkerScript => scriptOf('sim-worker.ts', 'simulator.js')

/**
 * Where a worker is: beside this file in the sources, and in the build beside the entries, while this code may have
 * ended up in a chunk one folder below them.
 */
function scriptOf(source: string, built: string): WorkerScript {
  const own = fileURLToPath(import.meta.url)
  const folder = dirname(own)
  if (own.endsWith('.ts')) return sourceScript(join(folder, source))
  const beside = join(folder, built)
  return { file: pathToFileURL(existsSync(beside) ? beside : join(folder, '..', built)), workerData: {} }
}
