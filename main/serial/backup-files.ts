import { randomUUID } from 'node:crypto'
import { open, realpath, rm } from 'node:fs/promises'
import { join } from 'node:path'
import { ProblemError } from '../../shared/model/problem.ts'
import type { EffectResult, StoreRequest } from '../../shared/procedure/effects.ts'
import { RealStore } from '../card/real-store.ts'
import { errorCode } from '../store/atomic-write.ts'
import { makeFolder } from '../store/make-folder.ts'

export const BACKUP_FOLDER = 'backups'

const NO_STORE: EffectResult = { got: 'failed', why: 'absent' }

/** The folder of backups, opened when the first one is to be kept. */
export class BackupFiles {
  readonly #folder: string
  #store: RealStore | undefined

  constructor(dataFolder: string) {
    this.#folder = join(dataFolder, BACKUP_FOLDER)
  }

  /** The file that was kept, whole and brought to the disk. */
  get kept(): string | null {
    const name = this.#store?.named.at(-1)
    return name === undefined ? null : join(this.#folder, name)
  }

  /** @throws ProblemError `write.backup-folder` where nothing can be kept in it: then nothing is to be sent */
  async mustBeUsable(): Promise<void> {
    const probe = join(this.#folder, `.preflash-${randomUUID()}.tmp`)
    try {
      this.#store ??= await this.#open()
      await (await open(probe, 'wx')).close()
      await rm(probe)
    } catch (error) {
      throw new ProblemError({
        code: 'write.backup-folder',
        file: this.#folder,
        message: `What the receiver holds could not be kept in this folder (${errorCode(error) || String(error)}), so nothing was sent.`,
        expected: 'a folder in which Preflash may write',
        remedy: 'See to this folder and its disk, or let Preflash keep its files in another folder.',
      })
    }
  }

  async ask(request: StoreRequest): Promise<EffectResult> {
    try {
      this.#store ??= await this.#open()
    } catch {
      return NO_STORE
    }
    return this.#store.ask(request)
  }

  async close(): Promise<void> {
    await this.#store?.close().catch(() => {})
  }

  async #open(): Promise<RealStore> {
    makeFolder(this.#folder)
    return RealStore.at(await realpath(this.#folder))
  }
}
