import { createHash } from 'node:crypto'
import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { type StoredSettings, settingsSchema } from '../../shared/api/settings.ts'
import type { Problem } from '../../shared/model/problem.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { type FileSteps, removeLeftovers, writeAtomically } from './atomic-write.ts'
import { oneAtATime } from './one-at-a-time.ts'
import { readBounded, readUtf8 } from './read-file.ts'
import { readJson } from './read-json.ts'

const MOST_SETTINGS_BYTES = 1024 * 1024

export interface ReadSettings {
  readonly settings: StoredSettings
  /** Why the defaults are given, where kept settings could not be read. */
  readonly problem?: Problem
}

/** The settings of one data folder, in its file `settings.json`. */
export class SettingsFile {
  readonly #dataFolder: string
  readonly #steps: FileSteps
  readonly #nowMs: () => number
  readonly #inTurn = oneAtATime()

  constructor(
    dataFolder: string,
    { steps = fs, nowMs = Date.now }: { steps?: FileSteps; nowMs?: () => number } = {},
  ) {
    this.#dataFolder = dataFolder
    this.#steps = steps
    this.#nowMs = nowMs
  }

  get #path(): string {
    return join(this.#dataFolder, 'settings.json')
  }

  /** Never rejects for what the file holds: a damaged one gives the defaults, and is kept aside. */
  get(): Promise<ReadSettings> {
    return this.#inTurn('settings', () => this.#read())
  }

  /**
   * Replaces the settings; the watched folder stays, since a window may hold an older one.
   * @throws ProblemError `settings.not-saved`; the old ones are then still there
   */
  set(settings: StoredSettings): Promise<StoredSettings> {
    return this.#inTurn('settings', async () => {
      const { watchedFolder } = (await this.#read()).settings
      return this.#write({ ...settings, watchedFolder })
    })
  }

  /** @throws ProblemError `settings.not-saved`; the old ones are then still there */
  setWatchedFolder(watchedFolder: string | undefined): Promise<StoredSettings> {
    return this.#inTurn('settings', async () =>
      this.#write({ ...(await this.#read()).settings, watchedFolder }),
    )
  }

  async #read(): Promise<ReadSettings> {
    await removeLeftovers(this.#dataFolder, this.#nowMs())
    try {
      const octets = await readBounded(this.#path, MOST_SETTINGS_BYTES)
      const settings = parseSettings(octets)
      if (settings !== undefined) return { settings }
      return { settings: settingsSchema.parse({}), problem: await this.#keepAside(octets) }
    } catch (error) {
      const missing = error instanceof ProblemError && error.problem.code === 'file.missing'
      const settings = settingsSchema.parse({})
      return error instanceof ProblemError && !missing ? { settings, problem: error.problem } : { settings }
    }
  }

  async #write(settings: StoredSettings): Promise<StoredSettings> {
    try {
      const text = `${JSON.stringify(settings, null, 2)}\n`
      await writeAtomically(this.#path, Buffer.from(text), { steps: this.#steps, mode: 0o600 })
      return settings
    } catch {
      throw new ProblemError({
        code: 'settings.not-saved',
        file: this.#path,
        message: 'The settings could not be saved; the earlier ones are still there.',
        remedy: 'Look whether the disk is full.',
      })
    }
  }

  /** Named after its content, so that the same damage met twice is kept once. */
  async #keepAside(octets: Uint8Array): Promise<Problem> {
    const mark = createHash('sha256').update(octets).digest('hex').slice(0, 12)
    const aside = join(this.#dataFolder, `settings.damaged-${mark}.json`)
    const kept = await fs.rename(this.#path, aside).then(
      () => true,
      () => false,
    )
    return {
      code: 'settings.damaged',
      file: this.#path,
      message: kept
        ? `The kept settings could not be read, so the usual ones are in force. The old file is kept as ${aside}.`
        : 'The kept settings could not be read, so the usual ones are in force.',
      remedy: 'Set again what you had set.',
    }
  }
}

function parseSettings(octets: Uint8Array): StoredSettings | undefined {
  try {
    const parsed = settingsSchema.safeParse(readJson(readUtf8(octets, 'settings.json'), 'settings.json'))
    return parsed.success ? parsed.data : undefined
  } catch {
    return undefined
  }
}
