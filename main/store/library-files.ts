import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { type LibraryEntry, libraryEntrySchema } from '../../shared/library/entry.ts'
import { removeLeftovers, writeAtomically } from './atomic-write.ts'
import { readBounded } from './read-file.ts'
import { readJson } from './read-json.ts'

export const MOST_IMAGE_BYTES = 16 * 1024 * 1024
const MOST_ENTRY_BYTES = 256 * 1024
const ID = /^[0-9a-f]{64}$/
const encoder = new TextEncoder()

export const isImageId = (text: string): boolean => ID.test(text)

/**
 * The files of the library in one data folder: `ID.image` is the image as it came, `ID.json` its entry. What is
 * removed goes into the folder `removed`, so that it can be brought back.
 */
export class LibraryFiles {
  readonly #folder: string
  readonly #removed: string

  constructor(dataFolder: string) {
    this.#folder = join(dataFolder, 'library')
    this.#removed = join(this.#folder, 'removed')
  }

  /** Ids of all images that are there, whatever state their entries are in. */
  async ids(nowMs: number): Promise<string[]> {
    await removeLeftovers(this.#folder, nowMs)
    const names = await fs.readdir(this.#folder).catch(() => [])
    return names
      .filter(name => name.endsWith('.image'))
      .map(name => name.slice(0, -'.image'.length))
      .filter(isImageId)
  }

  /** @returns undefined where it is missing, damaged, or another image's */
  async readEntry(id: string): Promise<LibraryEntry | undefined> {
    try {
      const path = this.#path(id, 'json')
      const octets = await readBounded(path, MOST_ENTRY_BYTES)
      const parsed = libraryEntrySchema.safeParse(readJson(new TextDecoder().decode(octets), path))
      return parsed.success && parsed.data.id === id ? parsed.data : undefined
    } catch {
      return undefined
    }
  }

  /** @throws those of readBounded */
  async readImage(id: string): Promise<Uint8Array> {
    return new Uint8Array(await readBounded(this.#path(id, 'image'), MOST_IMAGE_BYTES))
  }

  /** The image first: an entry without an image would be an error, an image without an entry is read anew. */
  async write(entry: LibraryEntry, octets: Uint8Array): Promise<void> {
    await fs.mkdir(this.#folder, { recursive: true })
    await writeAtomically(this.#path(entry.id, 'image'), octets)
    await this.writeEntry(entry)
  }

  writeEntry(entry: LibraryEntry): Promise<void> {
    return writeAtomically(
      this.#path(entry.id, 'json'),
      encoder.encode(`${JSON.stringify(entry, null, 1)}\n`),
    )
  }

  /** The entry goes last: an image without one is read anew, an entry without an image is an error. */
  async remove(id: string): Promise<void> {
    await fs.mkdir(this.#removed, { recursive: true })
    await fs.rename(this.#path(id, 'json'), join(this.#removed, `${id}.json`))
    await fs.rename(this.#path(id, 'image'), join(this.#removed, `${id}.image`))
  }

  async restore(id: string): Promise<void> {
    await fs.rename(join(this.#removed, `${id}.image`), this.#path(id, 'image'))
    await fs.rename(join(this.#removed, `${id}.json`), this.#path(id, 'json'))
  }

  #path(id: string, ending: 'image' | 'json'): string {
    return join(this.#folder, `${id}.${ending}`)
  }
}
