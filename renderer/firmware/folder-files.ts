import {
  isPassedOver,
  MOST_FOLDER_BYTES,
  MOST_FOLDER_DEPTH,
  MOST_FOLDER_FILES,
} from '../../shared/library/folder-rules.ts'
import type { FileLike } from './import-files.ts'

/** The files of a chosen or dropped folder, in bounds that are said when they are hit. */

export interface FolderFiles {
  readonly files: readonly FileLike[]
  readonly bounds: readonly string[]
  /** Whether a folder is among what was chosen. */
  readonly isFolder: boolean
}

interface EntryLike {
  readonly name: string
  readonly isFile: boolean
  readonly isDirectory: boolean
}
/** The part of the File and Directory Entries API that is used. */
export interface FileEntryLike extends EntryLike {
  file(got: (file: File) => void, failed: (error: unknown) => void): void
}
export interface FolderEntryLike extends EntryLike {
  createReader(): {
    readEntries(got: (entries: readonly EntryLike[]) => void, failed: (error: unknown) => void): void
  }
}

/** Counts what is taken, and remembers which bounds were hit. */
class Bounded {
  readonly files: FileLike[] = []
  #bytes = 0
  #hits = new Set<string>()

  get isFull(): boolean {
    return this.files.length >= MOST_FOLDER_FILES
  }

  take(name: string, file: FileLike): void {
    if (this.isFull)
      return this.hit(`Only the first ${MOST_FOLDER_FILES.toLocaleString('en')} files were read.`)
    if (this.#bytes + file.size > MOST_FOLDER_BYTES)
      return this.hit(
        `Together the files have more than ${MOST_FOLDER_BYTES / 1048576} MiB; what is above was not read.`,
      )
    this.#bytes += file.size
    this.files.push({
      name,
      size: file.size,
      arrayBuffer: () => file.arrayBuffer(),
      text: () => file.text(),
    })
  }

  hit(sentence: string): void {
    this.#hits.add(sentence)
  }

  done(isFolder: boolean): FolderFiles {
    return { files: this.files, bounds: [...this.#hits], isFolder }
  }
}

const TOO_DEEP = `Folders more than ${MOST_FOLDER_DEPTH} deep were not read.`

/** What the browser lists of a folder that was chosen; the names start with the folder's own. */
export function filesOfFolder(
  files: readonly (FileLike & { readonly webkitRelativePath: string })[],
): FolderFiles {
  const bounded = new Bounded()
  for (const file of files) {
    const name = file.webkitRelativePath || file.name
    const parts = name.split('/')
    if (parts.slice(1).some(isPassedOver)) continue
    if (parts.length - 1 > MOST_FOLDER_DEPTH) bounded.hit(TOO_DEEP)
    else bounded.take(name, file)
  }
  return bounded.done(true)
}

/** Everything below what was dropped. A folder or file that cannot be read is said, and keeps no other out. */
export async function filesOfEntries(entries: readonly EntryLike[]): Promise<FolderFiles> {
  const bounded = new Bounded()
  const enter = async (entry: EntryLike, before: string, depth: number): Promise<void> => {
    const name = before + entry.name
    if (depth > 0 && isPassedOver(entry.name)) return
    try {
      if (entry.isFile) bounded.take(name, await fileOf(entry as FileEntryLike))
      else if (depth >= MOST_FOLDER_DEPTH) bounded.hit(TOO_DEEP)
      else for (const one of await inside(entry as FolderEntryLike)) await enter(one, `${name}/`, depth + 1)
    } catch {
      bounded.hit(`${name} could not be read.`)
    }
  }
  for (const entry of entries) await enter(entry, '', 0)
  return bounded.done(entries.some(entry => entry.isDirectory))
}

const fileOf = (entry: FileEntryLike): Promise<File> => new Promise((got, failed) => entry.file(got, failed))

/** A reader gives some at a time, and none when there are no more. */
async function inside(folder: FolderEntryLike): Promise<EntryLike[]> {
  const reader = folder.createReader()
  const found: EntryLike[] = []
  while (found.length <= MOST_FOLDER_FILES) {
    const some = await new Promise<readonly EntryLike[]>((got, failed) => reader.readEntries(got, failed))
    if (some.length === 0) break
    found.push(...some)
  }
  return found.sort((a, b) => (a.name < b.name ? -1 : 1))
}
