import { readStartOptions, surroundings } from '../host/options.ts'

export const DATA_OPTION = [
  '--data <folder>',
  'the folder where Preflash keeps its own files, if it is not the usual one',
] as const

/** Where Preflash keeps its own files: the folder that is named, else that of PREFLASH_DATA, else the usual one. */
export const dataFolder = (named: string | undefined): string =>
  readStartOptions(named === undefined ? [] : [`--data=${named}`], surroundings()).dataFolder
