import { lstatSync, statSync } from 'node:fs'
import { readStartOptions, surroundings } from '../host/options.ts'
import { BadInput } from './ending.ts'

export const DATA_OPTION = [
  '--data <folder>',
  'the folder where Preflash keeps its own files, if it is not the usual one',
] as const

/** Where Preflash keeps its own files: the folder that is named, else that of PREFLASH_DATA, else the usual one. */
export const dataFolder = (named: string | undefined): string =>
  readStartOptions(named === undefined ? [] : [`--data=${named}`], surroundings()).dataFolder

/**
 * The same, for what has nothing to do without it. The folder need not be there yet.
 * @throws BadInput `data.not-a-folder` where something else is in its place, or nothing is named
 */
export function usableDataFolder(named: string | undefined): string {
  const folder = dataFolder(named)
  const message = named === '' ? 'The name of the folder is empty.' : whyNoFolder(folder)
  if (message === undefined) return folder
  throw new BadInput([
    {
      code: 'data.not-a-folder',
      ...(named === '' ? {} : { file: folder }),
      field: '--data',
      message,
      expected: 'a folder, or a name that is not there yet',
      remedy: 'Name another folder, or leave the option out for the usual one.',
    },
  ])
}

const FILE_IN_ITS_PLACE = 'This is a file, not the folder where Preflash keeps its own files.'
const inTheWay: Readonly<Record<string, string>> = {
  // Part of the way to it is a file.
  ENOTDIR: FILE_IN_ITS_PLACE,
  ENAMETOOLONG: 'The name of this folder is too long for this system.',
  ELOOP: 'This is a link that leads back to itself.',
}

/** What else is in the way is told when it is used. */
function whyNoFolder(path: string): string | undefined {
  try {
    const there = statSync(path, { throwIfNoEntry: false })
    if (there !== undefined) return there.isDirectory() ? undefined : FILE_IN_ITS_PLACE
    const isLink = lstatSync(path, { throwIfNoEntry: false })?.isSymbolicLink() ?? false
    return isLink ? 'This is a link to something that is not there.' : undefined
  } catch (error) {
    return error instanceof Error && 'code' in error ? inTheWay[String(error.code)] : undefined
  }
}
