import type * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { foldersAbove } from '../../shared/card/clusters.ts'
import { checkCardPath, namesOf } from '../../shared/card/names.ts'
import { errorCode } from '../store/atomic-write.ts'
import { NotOnThisVolume } from './store-errors.ts'

/** What is used of the file system, so that a test can let it fail at any step. */
export type StoreSteps = Pick<
  typeof fs,
  'open' | 'rename' | 'unlink' | 'lstat' | 'statfs' | 'mkdir' | 'rmdir'
>

/** What some systems say to opening or flushing a folder, which they do not do. */
const NO_FOLDER_FLUSH = ['EISDIR', 'EPERM', 'EACCES', 'EINVAL', 'ENOTSUP', 'EBADF']

/** The top folder of a card, held fast by its identity, and the way from it to any path without leaving it. */
export class CardFolder {
  private readonly made: string[] = []
  readonly root: string
  private readonly identity: { readonly dev: bigint; readonly ino: bigint }
  private readonly steps: StoreSteps

  private constructor(root: string, identity: { dev: bigint; ino: bigint }, steps: StoreSteps) {
    this.root = root
    this.identity = identity
    this.steps = steps
  }

  /**
   * @param root an absolute path without symbolic links
   * @throws the file system's error, or NotOnThisVolume where this is no folder
   */
  static async at(root: string, steps: StoreSteps): Promise<CardFolder> {
    const about = await steps.lstat(root, { bigint: true })
    if (!about.isDirectory()) throw new NotOnThisVolume(root)
    return new CardFolder(root, { dev: about.dev, ino: about.ino }, steps)
  }

  /** False too where the card was pulled and its folder stayed behind, empty, on the computer's own disk. */
  async isThere(): Promise<boolean> {
    try {
      const about = await this.steps.lstat(this.root, { bigint: true })
      return about.isDirectory() && about.dev === this.identity.dev && about.ino === this.identity.ino
    } catch {
      return false
    }
  }

  /**
   * The real path of a path on the card, after a look at every folder on the way.
   * @throws NotOnThisVolume for a bad name, a symbolic link, another volume mounted inside, or a special file
   */
  async place(path: string): Promise<string> {
    if (checkCardPath(path).length > 0) throw new NotOnThisVolume(path)
    for (const folder of foldersAbove(path)) {
      const about = await this.look(folder)
      if (about === undefined) break
      if (!about.isDirectory() || about.dev !== this.identity.dev) throw new NotOnThisVolume(folder)
    }
    const about = await this.look(path)
    if (about !== undefined && (!about.isFile() || about.dev !== this.identity.dev))
      throw new NotOnThisVolume(path)
    return join(this.root, ...namesOf(path))
  }

  private async look(path: string) {
    try {
      return await this.steps.lstat(join(this.root, ...namesOf(path)), { bigint: true })
    } catch (error) {
      if (['ENOENT', 'ENOTDIR'].includes(errorCode(error))) return undefined
      throw error
    }
  }

  /** Makes the folders above a file that are not there yet. */
  async makeFolders(cardPath: string): Promise<void> {
    for (const folder of foldersAbove(cardPath)) {
      if ((await this.look(folder)) !== undefined) continue
      await this.steps.mkdir(join(this.root, folder))
      this.made.push(folder)
      await this.flushFolder(join(this.root, folder, '..'))
    }
  }

  /** Removes the folders made here that stayed empty. */
  async removeEmpty(): Promise<void> {
    if (!(await this.isThere())) return
    for (const folder of this.made.reverse()) await this.steps.rmdir(join(this.root, folder)).catch(() => {})
  }

  /** Brings names to the disk. Not every system opens folders; there, the rename is as safe as it gets. */
  async flushFolder(path: string): Promise<void> {
    try {
      const folder = await this.steps.open(path, 'r')
      try {
        await folder.sync()
      } finally {
        await folder.close()
      }
    } catch (error) {
      if (!NO_FOLDER_FLUSH.includes(errorCode(error))) throw error
    }
  }
}
