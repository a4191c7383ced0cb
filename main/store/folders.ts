import * as fs from 'node:fs/promises'
import { homedir } from 'node:os'
import { dirname, isAbsolute, join, parse, resolve, sep } from 'node:path'
import { MOST_LISTED_FOLDERS } from '../../shared/api/watch.ts'
import { isPassedOver } from '../../shared/library/folder-rules.ts'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'

/** Folders to choose from, where there is no dialog of the system. */

export interface ListedFolder {
  readonly path: string
  readonly parent: string | null
  readonly folders: string[]
  readonly more: number
  readonly files: number
  readonly problem?: Problem
}

const isWithin = (path: string, folder: string): boolean =>
  path === folder || path.startsWith(folder.endsWith(sep) ? folder : folder + sep)

/**
 * Whether a folder may be watched: it is there, it is not a whole disk, and it is not where Preflash keeps its own.
 * @returns its path without links
 * @throws ProblemError `watch.not-absolute`, `watch.no-folder`, `watch.whole-disk`, `watch.own`
 */
export async function checkFolder(path: string, dataFolder: string): Promise<string> {
  const no = (code: string, message: string, remedy: string): ProblemError =>
    new ProblemError({ code, field: 'folder', file: path, message, remedy })
  if (!isAbsolute(path) || path.includes('\0'))
    throw no(
      'watch.not-absolute',
      'This is not a whole path of a folder.',
      `Give it from the start, such as ${join(homedir(), 'Downloads')}.`,
    )
  const real = await fs.realpath(path).catch(() => undefined)
  const about = real === undefined ? undefined : await fs.stat(real).catch(() => undefined)
  if (real === undefined || !about?.isDirectory())
    throw no('watch.no-folder', 'There is no such folder.', 'Look at how it is written, or choose another.')
  if (real === parse(real).root)
    throw no('watch.whole-disk', 'This is a whole disk, not a folder of images.', 'Choose a folder on it.')
  const own = await fs.realpath(dataFolder).catch(() => resolve(dataFolder))
  if (isWithin(real, own))
    throw no('watch.own', 'This is where Preflash keeps its own files.', 'Choose another folder.')
  await fs.readdir(real).catch(() => {
    throw no('watch.no-folder', 'This computer does not let you read this folder.', 'Choose another.')
  })
  return real
}

/**
 * The folders within a folder, by name, hidden ones left out.
 * @param path the home folder where none is given
 * @throws ProblemError `watch.not-absolute`, `watch.no-folder`
 */
export async function listFolder(path: string | undefined, dataFolder: string): Promise<ListedFolder> {
  const wanted = path ?? homedir()
  let problem: Problem | undefined
  let real = wanted
  try {
    real = await checkFolder(wanted, dataFolder)
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error
    problem = error.problem
    if (problem.code !== 'watch.whole-disk' && problem.code !== 'watch.own') throw error
    real = await fs.realpath(wanted)
  }
  const entries = await fs.readdir(real, { withFileTypes: true })
  const shown = entries.filter(entry => !isPassedOver(entry.name))
  const folders = shown
    .filter(entry => entry.isDirectory())
    .map(entry => entry.name)
    .sort((a, b) => a.localeCompare(b))
  return {
    path: real,
    parent: dirname(real) === real ? null : dirname(real),
    folders: folders.slice(0, MOST_LISTED_FOLDERS),
    more: Math.max(0, folders.length - MOST_LISTED_FOLDERS),
    files: shown.filter(entry => entry.isFile()).length,
    ...(problem ? { problem } : {}),
  }
}
