import type { Imported } from '../../shared/api/library.ts'
import { sha256Hex } from '../../shared/image/digest.ts'
import type { ImageCard } from '../../shared/image/image-card.ts'
import type { TrustedKey } from '../../shared/image/signature.ts'
import type { Uf2Family } from '../../shared/image/uf2-families.ts'
import { type LibraryEntry, MOST_OTHER_FILES } from '../../shared/library/entry.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { WorkerPool } from '../work/pool.ts'
import type { ReadItem } from '../work/tasks.ts'
import { alikeAmong, withAlike } from './alike.ts'
import { isImageId, LibraryFiles } from './library-files.ts'
import { bringsCard, withPast } from './library-merge.ts'
import { digestDiffers, notKept, otherDigest, unknownImage } from './library-problems.ts'
import { oneAtATime } from './one-at-a-time.ts'
import { Verdicts } from './verdicts.ts'

/** Entries read from the disk at once when the library is opened. */
const READ_AT_ONCE = 32

/** A file that is to be taken in: an image, or an archive of images. */
export interface FileToTake {
  readonly fileName: string
  readonly octets: Uint8Array
  readonly cardText?: string
  /** Of an archive, the one file to take. */
  readonly only?: string
  readonly families?: readonly Uf2Family[]
  /** It is one of many that nobody has chosen by itself. */
  readonly among?: boolean
}

export interface ImportOptions {
  readonly signal?: AbortSignal
  /** Is told of each file that has been read, those within archives one by one. */
  readonly onProgress?: (fileName: string, done: number) => void
}

export interface LibraryOptions {
  readonly pool?: WorkerPool
  /** The keys that are trusted now. */
  readonly keys?: () => Promise<readonly TrustedKey[]>
  /** Is called when what `list` gives has changed. */
  readonly onChange?: () => void
}

/** The images of one data folder, by what they contain. Files are read by workers, never by this thread. */
export class Library {
  readonly #files: LibraryFiles
  readonly #nowIso: () => string
  readonly #pool: WorkerPool
  readonly #verdicts: Verdicts
  readonly #keys: () => Promise<readonly TrustedKey[]>
  readonly #onChange: () => void
  /** Nothing that waits for a worker may run in turn: a worker may be waiting for its own turn. */
  readonly #inTurn = oneAtATime()
  #loading: Promise<Map<string, LibraryEntry>> | undefined
  #settling: Promise<void> = Promise.resolve()

  constructor(
    dataFolder: string,
    nowIso: () => string = () => new Date().toISOString(),
    options: LibraryOptions = {},
  ) {
    this.#files = new LibraryFiles(dataFolder)
    this.#nowIso = nowIso
    this.#pool = options.pool ?? new WorkerPool()
    this.#verdicts = new Verdicts(dataFolder, this.#pool)
    this.#keys = options.keys ?? (async () => [])
    this.#onChange = options.onChange ?? (() => {})
  }

  /**
   * All entries, the latest first, each with what its signature proves by the keys trusted now. An entry that cannot
   * be read is read anew from its image.
   */
  async list(): Promise<LibraryEntry[]> {
    const entries = await this.#load()
    const judged = await this.#verdicts.judge([...entries.values()], await this.#keys())
    return withAlike(judged).sort(
      (a, b) => b.imported.localeCompare(a.imported) || a.fileName.localeCompare(b.fileName),
    )
  }

  /** Takes files in, each by itself: one that cannot be read does not keep the others out. */
  async import(files: readonly FileToTake[], options: ImportOptions = {}): Promise<Imported[]> {
    await this.#load()
    let done = 0
    const outcomes = await Promise.all(
      files.map(async file => {
        const imported: Imported[] = []
        await this.#readOne(file, options, async item => {
          imported.push(await this.#take(item, file))
          options.onProgress?.(item.fileName, ++done)
        })
        return imported
      }),
    )
    const imported = outcomes.flat()
    for (const one of imported) if (one.got === 'entry') await this.#findAlike(one.entry)
    const listed = new Map((await this.list()).map(entry => [entry.id, entry]))
    if (imported.some(one => one.got === 'entry')) this.#onChange()
    return imported.map(one =>
      'entry' in one ? { ...one, entry: listed.get(one.entry.id) ?? one.entry } : one,
    )
  }

  /** @throws ProblemError `library.unknown` */
  async remove(id: string): Promise<void> {
    const entries = await this.#load()
    await this.#inTurn('library', async () => {
      this.#need(entries, id)
      await this.#files.remove(id)
      entries.delete(id)
    })
    this.#onChange()
  }

  /** Brings back what was removed. @throws ProblemError `library.unknown` */
  async restore(id: string): Promise<LibraryEntry> {
    const entries = await this.#load()
    const entry = await this.#inTurn('library', async () => {
      if (!isImageId(id)) throw new ProblemError(unknownImage(id))
      await this.#files.restore(id).catch(() => {
        throw new ProblemError(unknownImage(id))
      })
      const restored = await this.#files.readEntry(id)
      if (restored === undefined) throw new ProblemError(unknownImage(id))
      entries.set(id, restored)
      return restored
    })
    this.#onChange()
    return entry
  }

  /**
   * What a person has filled in. A card that had its maker's signature has it no more when its words are others.
   * @param cardFrom where the card comes from, to bring back what was there before
   * @throws ProblemError `library.unknown`, `library.other-digest`
   */
  async setCard(
    id: string,
    card: ImageCard | null,
    cardFrom: LibraryEntry['cardFrom'] = 'by-hand',
  ): Promise<LibraryEntry> {
    this.#need(await this.#load(), id)
    if (card !== null && card.sha256 !== id) throw new ProblemError(otherDigest(id))
    await this.#change(id, before => {
      const { signatureLost: _, ...rest } = before
      const lost = card?.signature ? undefined : (before.card?.signature?.keyId ?? before.signatureLost)
      return {
        ...rest,
        card,
        cardFrom: card === null ? 'nobody' : cardFrom,
        ...(lost === undefined || card === null ? {} : { signatureLost: lost }),
      }
    })
    const listed = (await this.list()).find(entry => entry.id === id)
    this.#onChange()
    if (listed === undefined) throw new ProblemError(unknownImage(id))
    return listed
  }

  /**
   * Compares the digest that the maker publishes with the file and with the payload.
   * @param sha256 64 hexadecimal digits, lower case; null takes the comparison back
   * @throws ProblemError `library.unknown`, `library.digest-differs` and those of readBounded
   */
  async compareDigest(id: string, sha256: string | null): Promise<LibraryEntry> {
    const { octets } = await this.read(id)
    if (sha256 !== null && sha256 !== id && sha256 !== sha256Hex(octets))
      throw new ProblemError(digestDiffers(sha256))
    await this.#change(id, ({ digestCompared: _, ...before }) =>
      sha256 === null ? before : { ...before, digestCompared: this.#nowIso() },
    )
    const listed = (await this.list()).find(entry => entry.id === id)
    this.#onChange()
    if (listed === undefined) throw new ProblemError(unknownImage(id))
    return listed
  }

  /** The file as it came, and its entry as `list` gives it but for what is alike. @throws ProblemError `library.unknown` and those of readBounded */
  async read(id: string): Promise<{ entry: LibraryEntry; octets: Uint8Array }> {
    const entry = this.#need(await this.#load(), id)
    const [judged] = await this.#verdicts.judge([entry], await this.#keys())
    return { entry: judged, octets: await this.#files.readImage(id) }
  }

  /** Resolves when entries of older versions have been read anew. */
  async settled(): Promise<void> {
    await this.#load()
    await this.#settling
  }

  /** Ends the workers that have nothing to do. */
  close(): void {
    this.#pool.close()
  }

  async #readOne(
    file: FileToTake,
    { signal }: ImportOptions,
    take: (item: ReadItem) => Promise<void>,
  ): Promise<void> {
    const { fileName } = file
    const task = { do: 'read', ...file, imported: this.#nowIso() } as const
    const run = await this.#pool.run(task, {
      fileName,
      ...(signal ? { signal } : {}),
      onPiece: piece => take(piece as ReadItem),
    })
    if (!run.ok) await take({ fileName, problems: run.problems })
  }

  #take(item: ReadItem, file: FileToTake): Promise<Imported> {
    const { fileName, within, entry, families } = item
    const about = { fileName, ...(within === undefined ? {} : { within }) }
    if (entry === undefined)
      return Promise.resolve(
        families === undefined
          ? { ...about, got: 'problems', problems: [...item.problems] }
          : { ...about, got: 'families', families: [...families] },
      )
    return this.#inTurn('library', async () => {
      const entries = await this.#load()
      const known = entries.get(entry.id)
      if (known !== undefined && !bringsCard(known, entry))
        return { ...about, got: 'duplicate', entry: await this.#noteOtherFile(known, entry, entries) }
      const kept = known === undefined ? entry : withPast(known, entry)
      try {
        await this.#files.write(kept, item.octets ?? file.octets)
      } catch (error) {
        return { ...about, got: 'problems', problems: [notKept(fileName, error)] }
      }
      entries.set(kept.id, kept)
      return { ...about, got: 'entry', entry: kept }
    })
  }

  /** The same image under another name, or in another container: worth knowing, and not worth keeping twice. */
  async #noteOtherFile(
    known: LibraryEntry,
    { fileName, format }: LibraryEntry,
    entries: Map<string, LibraryEntry>,
  ): Promise<LibraryEntry> {
    const { alsoAs = [] } = known
    const isNew = [known, ...alsoAs].every(f => f.fileName !== fileName || f.format !== format)
    if (!isNew || alsoAs.length >= MOST_OTHER_FILES) return known
    const noted = { ...known, alsoAs: [...alsoAs, { fileName, format }] }
    await this.#files.writeEntry(noted)
    entries.set(noted.id, noted)
    return noted
  }

  async #findAlike(entry: LibraryEntry): Promise<void> {
    const entries = await this.#load()
    const read = (id: string) => this.#files.readImage(id)
    const alike = await alikeAmong(entry, [...entries.values()], read, this.#pool)
    if (alike.length > 0) await this.#change(entry.id, now => ({ ...now, alike }))
  }

  /** Writes an entry anew, if it is still there. */
  async #change(id: string, by: (now: LibraryEntry) => LibraryEntry): Promise<void> {
    const entries = await this.#load()
    await this.#inTurn('library', async () => {
      const now = entries.get(id)
      const next = now && by(now)
      if (next === undefined || next === now) return
      await this.#files.writeEntry(next)
      entries.set(id, next)
    })
  }

  #load(): Promise<Map<string, LibraryEntry>> {
    this.#loading ??= this.#loadAll()
    return this.#loading
  }

  async #loadAll(): Promise<Map<string, LibraryEntry>> {
    const entries = new Map<string, LibraryEntry>()
    const ids = await this.#files.ids(Date.parse(this.#nowIso()))
    for (let at = 0; at < ids.length; at += READ_AT_ONCE)
      for (const entry of await Promise.all(ids.slice(at, at + READ_AT_ONCE).map(id => this.#readOrAnew(id))))
        if (entry !== undefined) entries.set(entry.id, entry)
    const old = [...entries.values()].filter(entry => entry.payloadKey === undefined)
    // They are listed as they are meanwhile: to read thousands anew takes minutes.
    if (old.length > 0) this.#settling = Promise.resolve().then(() => this.#complete(old))
    return entries
  }

  async #readOrAnew(id: string): Promise<LibraryEntry | undefined> {
    return (await this.#files.readEntry(id)) ?? this.#readAnew(id)
  }

  /** A crash came between the image and its entry, or somebody damaged the entry. */
  async #readAnew(id: string): Promise<LibraryEntry | undefined> {
    const read = await this.#readKept(id)
    if (read !== undefined) await this.#files.writeEntry(read).catch(() => {})
    return read
  }

  async #readKept(id: string): Promise<LibraryEntry | undefined> {
    const octets = await this.#files.readImage(id).catch(() => undefined)
    if (octets === undefined) return undefined
    let read: LibraryEntry | undefined
    await this.#readOne({ fileName: `${id.slice(0, 12)}.image`, octets }, {}, async item => {
      if (item.entry?.id === id) read = item.entry
    })
    return read
  }

  /** Gives entries of older versions what they lack. */
  async #complete(old: readonly LibraryEntry[]): Promise<void> {
    for (const { id } of old) {
      const payloadKey = (await this.#readKept(id))?.payloadKey
      if (payloadKey !== undefined) await this.#change(id, now => ({ ...now, payloadKey })).catch(() => {})
    }
    const entries = await this.#load()
    for (const { id } of old) {
      const entry = entries.get(id)
      if (entry !== undefined) await this.#findAlike(entry).catch(() => {})
    }
    this.#onChange()
  }

  #need(entries: Map<string, LibraryEntry>, id: string): LibraryEntry {
    const entry = entries.get(id)
    if (entry === undefined) throw new ProblemError(unknownImage(id))
    return entry
  }
}
