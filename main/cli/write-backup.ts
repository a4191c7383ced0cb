import { constants } from 'node:fs'
import { copyFile } from 'node:fs/promises'
import type { WriteEnding } from '../../shared/bench-run/lane.ts'
import { type Result, succeeded } from '../../shared/model/problem.ts'

/**
 * Copies what was read out before to where the person wants it.
 * @param to a file that is not there yet; undefined where no copy is wanted
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
  if (backupFile === null) return no('Nothing could be read out of this receiver.')
  try {
    await copyFile(backupFile, backup, constants.COPYFILE_EXCL)
    return succeeded(null)
  } catch (error) {
    return no(
      `It cannot be written (${(error as NodeJS.ErrnoException).code}). The backup is in ${backupFile}.`,
    )
  }
}
