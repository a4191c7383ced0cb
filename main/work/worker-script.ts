import { existsSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'

export interface WorkerScript {
  readonly file: URL
  readonly workerData: Readonly<Record<string, string>>
}

/** How a TypeScript file is run as a worker from source. */
export const sourceScript = (path: string): WorkerScript => ({
  file: pathToFileURL(join(dirname(fileURLToPath(import.meta.url)), 'from-source.mjs')),
  workerData: { script: pathToFileURL(path).href },
})

/**
 * Where the worker that reads files is: beside this file in the sources, and in the build `reader.js` beside the
 * entries, while this code may have ended up in a chunk one folder below them.
 */
export function readerScript(): WorkerScript {
  const own = fileURLToPath(import.meta.url)
  const folder = dirname(own)
  if (own.endsWith('.ts')) return sourceScript(join(folder, 'read-worker.ts'))
  const built = join(folder, 'reader.js')
  return { file: pathToFileURL(existsSync(built) ? built : join(folder, '..', 'reader.js')), workerData: {} }
}
