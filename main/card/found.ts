import { readdir } from 'node:fs/promises'
import { join } from 'node:path'
import { foldersAbove } from '../../shared/card/clusters.ts'
import { junkOf } from '../../shared/card/junk.ts'
import { MANIFEST_NAME, type Manifest, readManifest } from '../../shared/card/manifest.ts'
import { collision, foldName, foldPath, namesOf } from '../../shared/card/names.ts'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import { readBounded, readUtf8 } from '../store/read-file.ts'

/** What lies on a card already, as far as it concerns what is to be put there. */

const MOST_MANIFEST_BYTES = 4 * 1024 * 1024

const namesIn = (folder: string): Promise<string[]> => readdir(folder).catch(() => [])

/** The folder with the capitals and small letters that it has on the card, where it is there already. */
export async function folderAsSpelt(root: string, folder: string): Promise<string> {
  const spelt: string[] = []
  for (const name of folder === '' ? [] : namesOf(folder)) {
    const there = await namesIn(join(root, ...spelt))
    const same = there.filter(other => foldName(other) === foldName(name))
    spelt.push(same.includes(name) ? name : (same[0] ?? name))
  }
  return spelt.join('/')
}

export interface Found {
  readonly manifest: Manifest | undefined
  /** Folded paths of the folders that are there. */
  readonly folders: ReadonlySet<string>
  /** Of the files that are to be written, the names of those that are there. */
  readonly replaces: readonly string[]
  readonly junk: readonly string[]
  readonly warnings: readonly Problem[]
}

/**
 * @param paths of the files that are to be written into `folder`
 * @throws ProblemError `name.collision` where a card would take one of them for another file that is there
 */
export async function whatIsThere(root: string, folder: string, paths: readonly string[]): Promise<Found> {
  const inFolder = await namesIn(join(root, folder))
  for (const path of paths) {
    const name = namesOf(path).at(-1) ?? ''
    const other = inFolder.find(there => there !== name && foldName(there) === foldName(name))
    if (other !== undefined && !inFolder.includes(name))
      throw new ProblemError({
        ...collision(name, other),
        file: folder === '' ? other : `${folder}/${other}`,
      })
  }
  const folders = new Set<string>()
  for (const above of foldersAbove(paths[0]))
    if ((await namesIn(join(root, above, '..'))).includes(namesOf(above).at(-1) ?? ''))
      folders.add(foldPath(above))
  const replaces = paths.map(path => namesOf(path).at(-1) ?? '').filter(name => inFolder.includes(name))
  const top = folder === '' ? [] : await namesIn(root)
  const junk = [
    ...top.filter(name => junkOf(name)),
    ...inFolder.filter(name => junkOf(name)).map(name => (folder === '' ? name : `${folder}/${name}`)),
  ]
  const { manifest, warnings } = await manifestIn(join(root, folder), inFolder)
  return { manifest, folders, replaces, junk, warnings: warnings.map(replaced) }
}

/** The manifest of a folder with these files, or undefined with what is wrong with it; without, where there is none. */
export async function manifestIn(
  folder: string,
  names: readonly string[],
): Promise<Pick<Found, 'manifest' | 'warnings'>> {
  if (!names.includes(MANIFEST_NAME)) return { manifest: undefined, warnings: [] }
  const file = join(folder, MANIFEST_NAME)
  try {
    const read = readManifest(readUtf8(await readBounded(file, MOST_MANIFEST_BYTES), file), file)
    return read.ok ? { manifest: read.value, warnings: [] } : { manifest: undefined, warnings: read.problems }
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error
    return { manifest: undefined, warnings: [error.problem] }
  }
}

/** A manifest that cannot be read is said, and a new one takes its place: the images themselves are not touched. */
const replaced = (problem: Problem): Problem => ({
  ...problem,
  remedy: 'A new list was begun; images staged before are still on the card, but not in it.',
})
