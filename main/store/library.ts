import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import type { z } from 'zod'
import type { importedSchema } from '../../shared/api/library.ts'
import type { ImageCard } from '../../shared/image/image-card.ts'
import { entryOf, type ImageFile, type LibraryEntry, libraryEntrySchema } from '../../shared/library/entry.ts'
import type { Problem } from '../../shared/model/problem.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { removeLeftovers, writeAtomically } from './atomic-write.ts'
import { oneAtATime } from './one-at-a-time.ts'
import { readBounded } from './read-file.ts'

/** What became of one file that was to be taken in. */
export type Imported = z.infer<typeof importedSchema>

const MOST_ENTRY_BYTES = 256 * 1024
const MOST_IMAGE_BYTES = 16 * 1024 * 1024
const ID = /^[0-9a-f]{64}$/
const encoder = new TextEncoder()

/**
 * The images of one data folder, by what they contain: `ID.image` is the file as it came, `ID.json` its entry. What
 * is removed goes into the folder `removed`, so that it can be brought back.
 */
export class Library {
  readonly #folder: string
  readonly #removed: string
  readonly #nowIso: () => string
  readonly #inTurn = oneAtATime()
  #entries: Map<string, LibraryEntry> | undefined

  constructor(dataFolder: string, nowIso: () => string = () => new Date().toISOString()) {
    this.#folder = join(dataFolder, 'library')
    this.#removed = join(this.#folder, 'removed')
    this.#nowIso = nowIso
  }

  /** All entries, the latest first. An entry that cannot be read is read anew from its image. */
  list(): Promise<LibraryEntry[]> {
    return this.#inTurn('library', async () => {
      const entries = [...(await this.#load()).values()]
      return entries.sort(
        (a, b) => b.imported.localeCompare(a.imported) || a.fileName.localeCompare(b.fileName),
      )
    })
  }

  /** Takes files in, each by itself: one that cannot be read does not keep the others out. */
  import(files: readonly ImageFile[]): Promise<Imported[]> {
    return this.#inTurn('library', async () => {
      const entries = await this.#load()
      const imported: Imported[] = []
      for (const file of files) imported.push(await this.#take(file, entries))
      return imported
    })
  }

  /** @throws ProblemError `library.unknown` */
  remove(id: string): Promise<void> {
    return this.#inTurn('library', async () => {
      const entries = await this.#load()
      this.#need(entries, id)
      await fs.mkdir(this.#removed, { recursive: true })
      // The entry goes last: an image without one is read anew, an entry without an image is an error.
      await fs.rename(this.#path(id, 'json'), join(this.#removed, `${id}.json`))
      await fs.rename(this.#path(id, 'image'), join(this.#removed, `${id}.image`))
      entries.delete(id)
    })
  }

  /** Brings back what was removed. @throws ProblemError `library.unknown` */
  restore(id: string): Promise<LibraryEntry> {
    return this.#inTurn('library', async () => {
      const entries = await this.#load()
      if (!ID.test(id)) throw new ProblemError(unknown(id))
      try {
        await fs.rename(join(this.#removed, `${id}.image`), this.#path(id, 'image'))
        await fs.rename(join(this.#removed, `${id}.json`), this.#path(id, 'json'))
      } catch {
        throw new ProblemError(unknown(id))
      }
      const entry = await this.#readEntry(id)
      if (entry === undefined) throw new ProblemError(unknown(id))
      entries.set(id, entry)
      return entry
    })
  }

  /** What a person has filled in. @throws ProblemError `library.unknown`, `library.other-digest` */
  setCard(id: string, card: ImageCard | null): Promise<LibraryEntry> {
    return this.#inTurn('library', async () => {
      const entries = await this.#load()
      const before = this.#need(entries, id)
      if (card !== null && card.sha256 !== id)
        throw new ProblemError({
          code: 'library.other-digest',
          field: 'sha256',
          message: 'This image card describes another image.',
          expected: id,
        })
      const entry: LibraryEntry = { ...before, card, cardFrom: card === null ? 'nobody' : 'by-hand' }
      await this.#writeEntry(entry)
      entries.set(id, entry)
      return entry
    })
  }

  /** The file as it came. @throws ProblemError `library.unknown` and those of readBounded */
  read(id: string): Promise<{ entry: LibraryEntry; octets: Uint8Array }> {
    return this.#inTurn('library', async () => {
      const entry = this.#need(await this.#load(), id)
      return { entry, octets: new Uint8Array(await readBounded(this.#path(id, 'image'), MOST_IMAGE_BYTES)) }
    })
  }

  async #take(file: ImageFile, entries: Map<string, LibraryEntry>): Promise<Imported> {
    const { fileName } = file
    const read = entryOf(file, this.#nowIso())
    if (!read.ok) return { fileName, got: 'problems', problems: [...read.problems] }
    const entry = read.value
    const known = entries.get(entry.id)
    // The same image again brings nothing new, unless it brings the card that was missing.
    if (known !== undefined && (known.card !== null || entry.card === null))
      return { fileName, got: 'duplicate', entry: known }
    try {
      await fs.mkdir(this.#folder, { recursive: true })
      await writeAtomically(this.#path(entry.id, 'image'), file.octets)
      await this.#writeEntry(entry)
    } catch (error) {
      return { fileName, got: 'problems', problems: [notKept(fileName, error)] }
    }
    entries.set(entry.id, entry)
    return { fileName, got: 'entry', entry }
  }

  async #load(): Promise<Map<string, LibraryEntry>> {
    if (this.#entries !== undefined) return this.#entries
    const now = this.#nowIso()
    await removeLeftovers(this.#folder, Date.parse(now))
    const names = await fs.readdir(this.#folder).catch(() => [])
    const entries = new Map<string, LibraryEntry>()
    for (const name of names) {
      const id = name.endsWith('.image') ? name.slice(0, -'.image'.length) : ''
      if (!ID.test(id)) continue
      const entry = (await this.#readEntry(id)) ?? (await this.#readAnew(id, now))
      if (entry !== undefined) entries.set(id, entry)
    }
    this.#entries = entries
    return entries
  }

  async #readEntry(id: string): Promise<LibraryEntry | undefined> {
    try {
      const octets = await readBounded(this.#path(id, 'json'), MOST_ENTRY_BYTES)
      const parsed = libraryEntrySchema.safeParse(JSON.parse(new TextDecoder().decode(octets)))
      return parsed.success && parsed.data.id === id ? parsed.data : undefined
    } catch {
      return undefined
    }
  }

  /** A crash came between the image and its entry, or somebody damaged the entry. */
  async #readAnew(id: string, now: string): Promise<LibraryEntry | undefined> {
    try {
      const octets = new Uint8Array(await readBounded(this.#path(id, 'image'), MOST_IMAGE_BYTES))
      const read = entryOf({ fileName: `${id.slice(0, 12)}.image`, octets }, now)
      if (!read.ok || read.value.id !== id) return undefined
      await this.#writeEntry(read.value)
      return read.value
    } catch {
      return undefined
    }
  }

  #writeEntry(entry: LibraryEntry): Promise<void> {
    return writeAtomically(
      this.#path(entry.id, 'json'),
      encoder.encode(`${JSON.stringify(entry, null, 1)}\n`),
    )
  }

  #path(id: string, ending: 'image' | 'json'): string {
    return join(this.#folder, `${id}.${ending}`)
  }

  #need(entries: Map<string, LibraryEntry>, id: string): LibraryEntry {
    const entry = entries.get(id)
    if (entry === undefined) throw new ProblemError(unknown(id))
    return entry
  }
}

const unknown = (id: string): Problem => ({
  code: 'library.unknown',
  field: 'id',
  message: `There is no image ${id.slice(0, 12)} in the library.`,
  remedy: 'Look at the list again: it may have been removed in another window.',
})

const notKept = (file: string, error: unknown): Problem => ({
  code: 'library.not-kept',
  file,
  message: `The image could not be kept: ${error instanceof Error ? error.message : String(error)}.`,
  remedy: 'Look whether the disk is full or read only, and import it again.',
})
