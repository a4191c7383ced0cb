import { constants } from 'node:fs'
import { copyFile, link, lstat, rename, rm } from 'node:fs/promises'
import type { WriteEnding } from '../../shared/bench-run/lane.ts'
import type { ReadyWrite } from '../../shared/bench-run/ready.ts'
import { type Result, succeeded } from '../../shared/model/problem.ts'
import { errorCode } from '../store/atomic-write.ts'
import { whyNotWritten } from './file-output.ts'
import { bad } from './input.ts'
import { sibling, tryPlace } from './place.ts'

/** Where the person wants a copy of what the receiver held before. */

/** What file systems of memory cards say to a second name for a file, which they do not have. */
const NO_LINKS = ['EPERM', 'ENOTSUP', 'EOPNOTSUPP', 'ENOSYS', 'EMLINK']

/**
 * Before anything is sent: a file can be made there, and nothing is there yet. Nothing is left behind.
 * @throws BadInput `write.backup`
 */
export async function checkBackupPlace(backup: string | undefined): Promise<void> {
  if (backup === undefined) return
  const no = (message: string): never =>
    bad({
      code: 'write.backup',
      field: '--backup',
      ...(backup === '' ? {} : { file: backup }),
      message,
      expected: 'a file that is not there yet, in a folder in which you may write',
      remedy: 'Nothing was sent. Name another file.',
    })
  if (backup === '') no('The name of the file is empty.')
  try {
    await mustBeFree(backup)
    await tryPlace(backup, 0)
  } catch (error) {
    no(`The backup cannot be kept there: ${whyNotWritten(error)}.`)
  }
}

/** @throws BadInput `write.backup` where this way of writing cannot read what is there, and a backup is asked for */
export function checkBackupCan(backup: string | undefined, ready: ReadyWrite): void {
  if (backup === undefined || ready.canBackUp) return
  bad({
    code: 'write.backup',
    field: '--backup',
    message: `${ready.chosen.title} cannot read what a receiver holds, so no backup can be kept.`,
    remedy: 'Nothing was sent. Leave --backup out, and keep the image that it runs now at hand.',
  })
}

/**
 * Copies what was read out before to where the person wants it, whole or not at all.
 * @param backup a file that is not there yet; undefined where no copy is wanted
 * @returns `write.backup` where there is nothing to copy, or it cannot be written there
 */
export async function copyBackup(
  { backupFile }: Pick<WriteEnding, 'backupFile'>,
  backup: string | undefined,
): Promise<Result<null>> {
  if (backup === undefined) return succeeded(null)
  const no = (message: string): Result<null> => ({
    ok: false,
    problems: [{ code: 'write.backup', field: '--backup', file: backup, message: `${backup}: ${message}` }],
  })
  if (backupFile === null) return no('There is no backup: what the receiver held was not read out.')
  const temp = sibling(backup)
  try {
    await copyFile(backupFile, temp, constants.COPYFILE_EXCL)
    await takeName(temp, backup)
    return succeeded(null)
  } catch (error) {
    return no(`It cannot be written: ${whyNotWritten(error)}. The backup is in ${backupFile}.`)
  } finally {
    await rm(temp, { force: true }).catch(() => {})
  }
}

/** A second name is only given where there is none yet; renaming would take the place of a file. */
async function takeName(temp: string, path: string): Promise<void> {
  try {
    await link(temp, path)
  } catch (error) {
    if (!NO_LINKS.includes(errorCode(error))) throw error
    await mustBeFree(path)
    await rename(temp, path)
  }
}

/** @throws an error with the code `EEXIST` where anything has this name, even a link that leads nowhere */
async function mustBeFree(path: string): Promise<void> {
  const there = await lstat(path).catch(error => {
    if (errorCode(error) !== 'ENOENT') throw error
  })
  if (there !== undefined) throw Object.assign(new Error('it is there'), { code: 'EEXIST' })
}
