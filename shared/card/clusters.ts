import { namesOf } from './names.ts'

/**
 * What files cost on a card. Space is given out in whole clusters; a folder is a list of 32-octet entries, kept in
 * clusters too. Source: Microsoft's FAT specification; checked against a FAT chain in an image made by mkfs.fat.
 */

/** Largest file that FAT32 can hold: 2^32 - 1 octets. */
export const MAX_FILE_BYTES = 2 ** 32 - 1
const ENTRY_BYTES = 32
/** Characters of a long name in one entry. */
const UNITS_PER_ENTRY = 13
/** `.` and `..` at the start of every folder but the top one. */
const OWN_ENTRIES = 2

/**
 * Clusters that a file takes; none for an empty one.
 * @throws RangeError for a size or cluster that is no whole number, or is negative or nought
 */
export function clustersFor(bytes: number, clusterBytes: number): number {
  if (!Number.isSafeInteger(bytes) || bytes < 0) throw new RangeError(`no file size: ${bytes}`)
  if (!Number.isSafeInteger(clusterBytes) || clusterBytes < 1)
    throw new RangeError(`no cluster size: ${clusterBytes}`)
  return Math.ceil(bytes / clusterBytes)
}

/** A name of at most 8 letters and an ending of at most 3, all capitals, needs no long form. */
const SHORT_NAME = /^[A-Z0-9!#$%&'()@^_`{}~-]{1,8}(\.[A-Z0-9!#$%&'()@^_`{}~-]{1,3})?$/

/** Folder entries that a name takes: one, and one more for every 13 UTF-16 units of a long name. */
export const entriesFor = (name: string): number =>
  SHORT_NAME.test(name) ? 1 : 1 + Math.ceil(name.length / UNITS_PER_ENTRY)

/** Clusters of a new folder that holds these names. */
export const folderClusters = (names: readonly string[], clusterBytes: number): number =>
  clustersFor(
    (OWN_ENTRIES + names.reduce((sum, name) => sum + entriesFor(name), 0)) * ENTRY_BYTES,
    clusterBytes,
  )

/** The folders above a file, from the top: `A/B/c` gives `A`, `A/B`. */
export function foldersAbove(path: string): readonly string[] {
  const folders = namesOf(path).slice(0, -1)
  return folders.map((_, i) => folders.slice(0, i + 1).join('/'))
}

export interface SpaceQuestion {
  readonly files: readonly { readonly path: string; readonly bytes: number }[]
  readonly clusterBytes: number
  readonly folderIsThere: (folder: string) => boolean
}

/**
 * Clusters that new files need at most, with the folders that have to be made for them. A folder that is there
 * already may have to grow: the entries are counted in full, because nobody knows how many are free in it.
 */
export function clustersNeeded({ files, clusterBytes, folderIsThere }: SpaceQuestion): number {
  let clusters = 0
  const inFolder = new Map<string, string[]>()
  const put = (folder: string, name: string) => {
    const names = inFolder.get(folder) ?? []
    if (!names.includes(name)) inFolder.set(folder, [...names, name])
  }
  for (const { path, bytes } of files) {
    clusters += clustersFor(bytes, clusterBytes)
    const names = namesOf(path)
    let folder = ''
    for (const name of names) {
      const whole = folder === '' ? name : `${folder}/${name}`
      if (whole === names.join('/') || !folderIsThere(whole)) put(folder, name)
      folder = whole
    }
  }
  for (const [folder, names] of inFolder) {
    if (folder !== '' && !folderIsThere(folder)) clusters += folderClusters(names, clusterBytes)
    else
      clusters += clustersFor(
        names.reduce((sum, name) => sum + entriesFor(name), 0) * ENTRY_BYTES,
        clusterBytes,
      )
  }
  return clusters
}
