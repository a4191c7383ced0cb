import { randomUUID } from 'node:crypto'
import * as fs from 'node:fs/promises'
import { dirname, join } from 'node:path'
import { clustersFor } from '../../shared/card/clusters.ts'

/** Whether a file can be kept somewhere, found out before there is anything to keep. */

/** What is used of the file system, so that a test can have a disk without room. */
export type PlaceSteps = Pick<typeof fs, 'open' | 'rm' | 'statfs'>

/** The disk has less room than what is to be kept; its message is the end of a sentence. */
export class NoRoom extends Error {
  constructor(needBytes: number, freeBytes: number) {
    super(`its disk has too little room (${needBytes} octets are needed, and ${freeBytes} are free)`)
    this.name = 'NoRoom'
  }
}

/** A name that no other file has, in the same folder, so that a file takes its own name only once it is whole. */
export const sibling = (path: string): string => join(dirname(path), `.preflash-${randomUUID()}.tmp`)

/**
 * A file of this many octets could be kept under this name: one is made beside it, and is gone again afterwards.
 * @param needBytes octets of what is to be kept, beside all that is there now
 * @throws NoRoom, or the file system's error
 */
export async function tryPlace(path: string, needBytes: number, steps: PlaceSteps = fs): Promise<void> {
  const probe = sibling(path)
  await (await steps.open(probe, 'wx')).close()
  await steps.rm(probe)
  await needRoom(dirname(path), [needBytes], steps)
}

/**
 * The disk of a folder has room for files of so many octets each, counted in whole clusters.
 * @throws NoRoom
 */
export async function needRoom(
  folder: string,
  files: readonly number[],
  steps: Pick<PlaceSteps, 'statfs'> = fs,
): Promise<void> {
  // Some file systems do not say how large they are; then it shows only when they are full.
  const disk = await steps.statfs(folder).catch(() => undefined)
  if (disk === undefined || disk.blocks === 0 || disk.bsize < 1) return
  const { bsize, bavail } = disk
  const clusters = files.reduce((sum, bytes) => sum + clustersFor(bytes, bsize), 0)
  if (clusters > bavail) throw new NoRoom(clusters * bsize, bavail * bsize)
}
