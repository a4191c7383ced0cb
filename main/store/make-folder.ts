import { mkdirSync, statSync } from 'node:fs'
import { dirname } from 'node:path'

/**
 * Makes a folder, and those that it lies in, where they are missing. Node's own way to do that never comes back where
 * a folder refuses new ones by saying that it is not there itself, as /proc does.
 * @throws the error of the system for the first folder that cannot be made
 */
export function makeFolder(path: string): void {
  if (isFolder(path)) return
  const around = dirname(path)
  if (around !== path) makeFolder(around)
  try {
    mkdirSync(path)
  } catch (error) {
    // Another process may have made it in the meantime.
    if (!isFolder(path)) throw error
  }
}

const isFolder = (path: string): boolean => statSync(path, { throwIfNoEntry: false })?.isDirectory() ?? false
