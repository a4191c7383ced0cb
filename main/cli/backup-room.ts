import * as fs from 'node:fs/promises'
import { dirname, resolve } from 'node:path'
import type { ReadyWrite } from '../../shared/bench-run/ready.ts'
import { bad } from './input.ts'
import { NoRoom, needRoom } from './place.ts'

/** Room on the disk for what a receiver holds, looked at before anything is sent. */

/** What is used of the file system, so that a test can have a disk without room. */
export type RoomSteps = Pick<typeof fs, 'stat' | 'statfs'>

export interface BackupFolders {
  /** The file of --backup; undefined where no copy is wanted. */
  readonly backup: string | undefined
  /** Where Preflash keeps its own files; need not be there yet. */
  readonly dataFolder: string
}

/**
 * What will be read out has room: it is kept in the data folder first, whether a copy is asked for or not, and then
 * copied to the file of --backup. Nothing is asked of a way of writing that reads nothing out.
 * @param octets of what will be read out
 * @throws BadInput `write.backup-room` that names the disk, what is needed and what is free
 */
export async function checkBackupRoom(
  { canBackUp }: Pick<ReadyWrite, 'canBackUp'>,
  octets: number,
  { backup, dataFolder }: BackupFolders,
  steps: RoomSteps = fs,
): Promise<void> {
  if (!canBackUp) return
  const kept = await folderThere(dataFolder, steps)
  const copied = backup === undefined ? undefined : dirname(backup)
  // Two folders on one disk take their room from the same.
  const isOneDisk = copied !== undefined && (await diskOf(kept, steps)) === (await diskOf(copied, steps))
  await hasRoom(isOneDisk ? [octets, octets] : [octets], kept, isOneDisk ? TWICE : KEPT, steps)
  if (copied !== undefined && !isOneDisk) await hasRoom([octets], copied, COPIED, steps)
}

const NOTHING_SENT = 'Nothing was sent. Delete or move what is not needed on this disk, or'
const KEPT = {
  field: '--data',
  message: 'What the receiver holds is read out first and kept in this folder, but',
  remedy: `${NOTHING_SENT} name a folder on another one with --data.`,
}
const COPIED = {
  field: '--backup',
  message: 'What the receiver holds is to be copied into this folder, but',
  remedy: `${NOTHING_SENT} name a file on another one.`,
}
const TWICE = {
  field: '--backup',
  message: 'What the receiver holds is kept here, and its copy of --backup goes onto the same disk, but',
  remedy: `${NOTHING_SENT} name a file on another one.`,
}

async function hasRoom(
  files: readonly number[],
  folder: string,
  words: { readonly field: string; readonly message: string; readonly remedy: string },
  steps: RoomSteps,
): Promise<void> {
  try {
    await needRoom(folder, files, steps)
  } catch (error) {
    if (!(error instanceof NoRoom)) throw error
    const message = `${words.message} ${error.message}.`
    bad({ ...words, code: 'write.backup-room', file: folder, message })
  }
}

/** A folder that is not there yet is made on the disk of the one above it. */
async function folderThere(folder: string, steps: RoomSteps): Promise<string> {
  const path = resolve(folder)
  const isThere = await steps.stat(path).then(
    () => true,
    () => false,
  )
  return isThere || dirname(path) === path ? path : folderThere(dirname(path), steps)
}

const diskOf = (folder: string, steps: RoomSteps): Promise<number | undefined> =>
  steps.stat(folder).then(
    about => about.dev,
    () => undefined,
  )
