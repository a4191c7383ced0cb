import { randomUUID } from 'node:crypto'
import * as fs from 'node:fs/promises'
import { basename, dirname, join } from 'node:path'

/** What is used of the file system, so that a test can let it fail at any step. */
export type FileSteps = Pick<typeof fs, 'open' | 'rename' | 'rm'>

const TEMP_NAME = /^\.preflash-[0-9a-f-]{36}\.tmp$/
/** Younger ones may be another window's save under way. */
const LEFTOVER_AGE_MS = 10 * 60 * 1000

/** A name no bench file can have, because it begins with a dot. */
const tempName = () => `.preflash-${randomUUID()}.tmp`

/**
 * Replaces a file whole or not at all: whoever reads it, or loses power, finds either the old content or the new.
 * A sibling file is written and brought to the disk, then takes the name, then the folder is brought to the disk.
 * @param mode permissions of a file that is not there yet, or to be kept
 * @throws the file system's error; the old file is then as it was, and the sibling is gone
 */
export async function writeAtomically(
  path: string,
  octets: Uint8Array,
  { mode = 0o666, steps = fs }: { readonly mode?: number; readonly steps?: FileSteps } = {},
): Promise<void> {
  const temp = join(dirname(path), tempName())
  try {
    const file = await steps.open(temp, 'wx', mode)
    try {
      await file.writeFile(octets)
      await file.sync()
    } finally {
      await file.close()
    }
    await steps.rename(temp, path)
  } catch (error) {
    await steps.rm(temp, { force: true }).catch(() => {})
    throw error
  }
  await syncFolder(dirname(path), steps)
}

/** Not every system opens folders; there, the rename is as safe as it gets. */
async function syncFolder(path: string, steps: FileSteps): Promise<void> {
  try {
    const folder = await steps.open(path, 'r')
    try {
      await folder.sync()
    } finally {
      await folder.close()
    }
  } catch (error) {
    if (!['EISDIR', 'EPERM', 'EACCES', 'EINVAL', 'ENOTSUP'].includes(errorCode(error))) throw error
  }
}

/** Removes what a crash in the middle of writeAtomically left in a folder. Never throws. */
export async function removeLeftovers(folder: string, nowMs: number): Promise<void> {
  const names = await fs.readdir(folder).catch(() => [])
  for (const name of names) {
    if (!TEMP_NAME.test(basename(name))) continue
    const path = join(folder, name)
    const about = await fs.lstat(path).catch(() => undefined)
    if (about?.isFile() && nowMs - about.mtimeMs > LEFTOVER_AGE_MS)
      await fs.rm(path, { force: true }).catch(() => {})
  }
}

/** `ENOENT` and its like; empty for an error that is not the system's. */
export const errorCode = (error: unknown): string =>
  error instanceof Error && 'code' in error && typeof error.code === 'string' ? error.code : ''
