import { watch as watchFiles } from 'node:fs'
import { resolve } from 'node:path'
import type { Imported } from '../../shared/api/library.ts'
import type { WatchState } from '../../shared/api/watch.ts'
import { pairFiles } from '../../shared/image/pairing.ts'
import { isNoImage } from '../../shared/library/folder-rules.ts'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import type { FileToTake } from './library.ts'
import { oneAtATime } from './one-at-a-time.ts'
import { readBounded } from './read-file.ts'
import { type FoundFile, type Walked, walkFolder } from './walk-folder.ts'
import { emptyState, readWatchedState, type WatchedState, writeWatchedState } from './watched-state.ts'

/** The time, and the way to be called later; a test has its own. */
export interface Clock {
  nowMs(): number
  /** @returns calls it off */
  after(delayMs: number, then: () => void): () => void
}

export const systemClock: Clock = {
  nowMs: () => Date.now(),
  after(delayMs, then) {
    const timer = setTimeout(then, delayMs)
    timer.unref()
    return () => clearTimeout(timer)
  },
}

export interface WatchedFolderOptions {
  readonly dataFolder: string
  readonly take: (files: readonly FileToTake[]) => Promise<readonly Imported[]>
  /** What is to be told has changed. */
  readonly onChange: () => void
  readonly clock?: Clock
  /** Calls back when something in the folder may have changed; it may miss things, and the poll finds them. */
  readonly watch?: (folder: string, changed: () => void) => () => void
}

/** A file that has had the same length and time for so long is taken to be whole. */
export const SETTLED_MS = 2_000
const POLL_MS = 5_000
const SOON_MS = 500
const MOST_FILE_BYTES = 32 * 1024 * 1024
const MOST_CARD_BYTES = 200_000

const markOf = ({ bytes, modifiedMs }: FoundFile): string => `${bytes} ${modifiedMs}`

/**
 * Takes in by itself what is new or changed in one folder and those within it, once it has stopped growing. It only
 * reads: nothing in the folder is ever changed.
 */
export class WatchedFolder {
  readonly #options: WatchedFolderOptions
  readonly #clock: Clock
  readonly #inTurn = oneAtATime()
  #folder: string | undefined
  #kept: WatchedState = emptyState('')
  #isMissing = false
  #bounds: string | undefined
  /** Since when each file has been as it is. */
  readonly #since = new Map<string, { readonly mark: string; readonly sinceMs: number }>()
  #callOff: () => void = () => {}
  #unwatch: (() => void) | undefined

  constructor(options: WatchedFolderOptions) {
    this.#options = options
    this.#clock = options.clock ?? systemClock
  }

  get state(): WatchState {
    const { taken, failed } = this.#kept
    return {
      folder: this.#folder ?? null,
      state: this.#folder === undefined ? 'off' : this.#isMissing ? 'missing' : 'watching',
      taken: [...taken],
      failed: [...failed],
      ...(this.#bounds === undefined ? {} : { bounds: this.#bounds }),
    }
  }

  /** Watches this folder from now on, or none. What lies in it already is new, unless it was watched before. */
  use(folder: string | undefined): Promise<void> {
    return this.#inTurn('watch', async () => {
      this.stop()
      this.#folder = folder
      this.#isMissing = false
      this.#bounds = undefined
      this.#since.clear()
      this.#kept =
        folder === undefined ? emptyState('') : await readWatchedState(this.#options.dataFolder, folder)
      if (folder !== undefined) this.#lookIn(0)
      this.#options.onChange()
    })
  }

  /** Somebody has read what was taken and what failed. */
  seen(): Promise<void> {
    return this.#inTurn('watch', async () => {
      this.#kept = { ...this.#kept, taken: [], failed: [] }
      await this.#keep()
      this.#options.onChange()
    })
  }

  stop(): void {
    this.#callOff()
    this.#unwatch?.()
    this.#unwatch = undefined
  }

  /** Looks once at what is in the folder, and takes in what is ready. */
  look(): Promise<void> {
    return this.#inTurn('watch', async () => {
      const folder = this.#folder
      if (folder === undefined) return
      const before = JSON.stringify(this.state)
      const own = resolve(this.#options.dataFolder)
      const walked = await walkFolder(folder, path => path === own).catch(() => undefined)
      this.#isMissing = walked === undefined
      this.#bounds = walked?.bounds
      if (walked === undefined) this.#unwatch?.()
      if (walked === undefined) this.#unwatch = undefined
      const isWaiting = walked !== undefined && (await this.#takeReady(walked))
      if (walked !== undefined) this.#watchNow(folder)
      if (this.#folder === folder) this.#lookIn(isWaiting ? SETTLED_MS : POLL_MS)
      if (JSON.stringify(this.state) !== before) this.#options.onChange()
    })
  }

  #lookIn(delayMs: number): void {
    this.#callOff()
    this.#callOff = this.#clock.after(delayMs, () => void this.look().catch(() => this.#lookIn(POLL_MS)))
  }

  #watchNow(folder: string): void {
    if (this.#unwatch !== undefined) return
    this.#unwatch = (this.#options.watch ?? systemWatch)(folder, () => this.#lookIn(SOON_MS))
  }

  /** @returns whether something is there that is still growing */
  async #takeReady({ files, bounds }: Walked): Promise<boolean> {
    const isSettled = new Map(files.map(file => [file, this.#isSettled(file)]))
    const isDealtWith = (file: FoundFile) => this.#kept.dealtWith[file.name] === markOf(file)
    let isWaiting = false
    for (const { file, card } of pairFiles(files).images) {
      if (file.bytes === 0 || (isDealtWith(file) && (card === undefined || isDealtWith(card)))) continue
      if (!isSettled.get(file) || (card !== undefined && !isSettled.get(card))) {
        isWaiting = true
        continue
      }
      await this.#takeOne(file, card)
      this.#dealtWith(file)
      if (card !== undefined) this.#dealtWith(card)
      await this.#keep()
    }
    this.#forgetGone(files, bounds !== undefined)
    return isWaiting
  }

  #isSettled(file: FoundFile): boolean {
    const [mark, nowMs] = [markOf(file), this.#clock.nowMs()]
    const before = this.#since.get(file.name)
    if (before?.mark === mark) return nowMs - before.sinceMs >= SETTLED_MS
    this.#since.set(file.name, { mark, sinceMs: nowMs })
    return false
  }

  async #takeOne(file: FoundFile, card: FoundFile | undefined): Promise<void> {
    const fileName = file.name
    try {
      const octets = new Uint8Array(await readBounded(file.path, MOST_FILE_BYTES))
      const cardText = card && (await readBounded(card.path, MOST_CARD_BYTES)).toString('utf8')
      const taken = await this.#options.take([
        { fileName, octets, among: true, ...(cardText === undefined ? {} : { cardText }) },
      ])
      for (const one of taken) this.#note(one)
    } catch (error) {
      this.#fail(fileName, [error instanceof ProblemError ? error.problem : unreadable(fileName, error)])
    }
  }

  #note(one: Imported): void {
    const name = one.within === undefined ? one.fileName : `${one.fileName} in ${one.within}`
    if (one.got === 'entry') this.#kept.taken.push(name)
    else if (one.got === 'families') this.#fail(name, [severalFamilies(name, one.families.length)])
    else if (one.got === 'problems' && !isNoImage(one.problems)) this.#fail(name, one.problems)
  }

  #fail(fileName: string, problems: readonly Problem[]): void {
    this.#kept.failed = [
      ...this.#kept.failed.filter(one => one.fileName !== fileName),
      { fileName, problems: [...problems] },
    ]
  }

  #dealtWith(file: FoundFile): void {
    this.#kept.dealtWith[file.name] = markOf(file)
  }

  /** A file that comes back after it was gone is new again. */
  #forgetGone(files: readonly FoundFile[], isCutOff: boolean): void {
    const there = new Set(files.map(({ name }) => name))
    for (const name of [...this.#since.keys()]) if (!there.has(name)) this.#since.delete(name)
    if (isCutOff) return
    for (const name of Object.keys(this.#kept.dealtWith))
      if (!there.has(name)) delete this.#kept.dealtWith[name]
  }

  /** Where it cannot be kept, what was dealt with is dealt with again at the next start: no harm. */
  #keep(): Promise<void> {
    if (this.#folder === undefined) return Promise.resolve()
    return writeWatchedState(this.#options.dataFolder, this.#kept).catch(() => {})
  }
}

/** Not every file system tells of changes; the poll goes on all the same. */
function systemWatch(folder: string, changed: () => void): () => void {
  try {
    const watcher = watchFiles(folder, { persistent: false }, changed)
    watcher.on('error', () => watcher.close())
    return () => watcher.close()
  } catch {
    return () => {}
  }
}

const unreadable = (file: string, error: unknown): Problem => ({
  code: 'watch.unreadable',
  file,
  message: `The file could not be read: ${error instanceof Error ? error.message : String(error)}.`,
  remedy: 'Look whether it is still there and may be read.',
})

const severalFamilies = (file: string, count: number): Problem => ({
  code: 'uf2.families',
  file,
  message: `The file holds images for ${count} families of controllers.`,
  remedy: 'Import it with the button, and say which you need.',
})
