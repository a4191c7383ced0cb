import { statSync } from 'node:fs'
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
 * @throws BadInput `data.not-a-folder` where something else is in its place
 */
export function usableDataFolder(named: string | undefined): string {
  const folder = dataFolder(named)
  if (couldBeFolder(folder)) return folder
  throw new BadInput([
    {
      code: 'data.not-a-folder',
      file: folder,
      field: '--data',
      message: 'This is a file, not the folder where Preflash keeps its own files.',
      expected: 'a folder, or a name that is not there yet',
      remedy: 'Name another folder, or leave the option out for the usual one.',
    },
  ])
}

function couldBeFolder(path: string): boolean {
  try {
    return statSync(path, { throwIfNoEntry: false })?.isDirectory() ?? true
  } catch (error) {
    // Part of the way to it is a file. What else is in the way is told when it is used.
    return !(error instanceof Error && 'code' in error && error.code === 'ENOTDIR')
  }
}
