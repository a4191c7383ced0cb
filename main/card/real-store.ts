import { constants } from 'node:fs'
import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { clustersFor } from '../../shared/card/clusters.ts'
import type { EffectResult, StoreRequest } from '../../shared/procedure/effects.ts'
import { errorCode } from '../store/atomic-write.ts'
import { CardFolder, type StoreSteps } from './card-folder.ts'
import { DIRECT_FLAGS, DirectReader, readsDevice } from './direct-read.ts'
import { storeFailureOf } from './store-errors.ts'

/** Where what was read back came from. */
export type ReadBack = 'device' | 'perhaps cache'

const DONE: EffectResult = { got: 'done' }
/** Never through a symbolic link, never waiting at a pipe; Windows has neither flag. */
const PLAIN_READ = constants.O_RDONLY | (constants.O_NOFOLLOW ?? 0) | (constants.O_NONBLOCK ?? 0)
const NEW_FILE = constants.O_WRONLY | constants.O_CREAT | constants.O_EXCL | (constants.O_NOFOLLOW ?? 0)

interface OpenFile {
  readonly path: string
  readonly handle: fs.FileHandle
  readonly for: 'write' | 'read' | 'direct-read'
}

/**
 * Answers `store` effects on a real folder: the top of a card, or any folder that stands in for one. Paths are those
 * of the procedures, from the top, parted by `/`. Nothing outside the folder is ever touched.
 */
export class RealStore {
  private readonly direct = new DirectReader()
  private open: OpenFile | undefined
  private readonly parts = new Set<string>()
  private readonly renamed: string[] = []
  private readCached = false
  private readDirect = false
  private mayReadDirect: boolean
  private readonly folder: CardFolder
  private readonly steps: StoreSteps

  private constructor(folder: CardFolder, mayReadDirect: boolean, steps: StoreSteps) {
    this.folder = folder
    this.mayReadDirect = mayReadDirect
    this.steps = steps
  }

  /**
   * @param root an absolute path without symbolic links
   * @throws the file system's error, or NotOnThisVolume where this is no folder
   */
  static async at(root: string, steps: StoreSteps = fs): Promise<RealStore> {
    const folder = await CardFolder.at(root, steps)
    return new RealStore(folder, readsDevice((await steps.statfs(root)).type), steps)
  }

  /** `device` only if every octet that was read came past the cache. */
  get readBack(): ReadBack {
    return this.readDirect && !this.readCached ? 'device' : 'perhaps cache'
  }

  /** Temporary files that were made and neither renamed nor removed. */
  get leftOver(): readonly string[] {
    return [...this.parts]
  }

  /** Files that have got their names, whatever came after. */
  get named(): readonly string[] {
    return this.renamed
  }

  /** @throws an error that says nothing about the volume: a mistake in the program, or a system out of resources */
  async ask(request: StoreRequest): Promise<EffectResult> {
    try {
      if (!(await this.folder.isThere())) return { got: 'failed', why: 'absent' }
      return await this.carryOut(request)
    } catch (error) {
      const why = storeFailureOf(error)
      if (why === undefined) throw error
      // A card that was pulled shows itself by many errors; asking for its top tells.
      return { got: 'failed', why: (await this.folder.isThere()) ? why : 'absent' }
    }
  }

  /** Closes what is open, and removes the folders made here that stayed empty. */
  async close(): Promise<void> {
    await this.closeFile().catch(() => {})
    await this.folder.removeEmpty()
  }

  private async carryOut(request: StoreRequest): Promise<EffectResult> {
    if (request.op === 'space') return { got: 'number', value: await this.freeBytes() }
    const path = await this.folder.place(request.path)
    switch (request.op) {
      case 'create':
        return this.create(request.path, request.bytes)
      case 'write':
        return this.write(path, request.offset, request.octets)
      case 'flush':
        return this.flush(path)
      case 'read':
        return { got: 'octets', octets: await this.read(path, request.offset, request.bytes) }
      case 'rename':
        return this.rename(request.path, request.to)
      case 'remove':
        return this.remove(request.path)
      case 'size':
        return { got: 'number', value: await this.size(path) }
    }
  }

  private async freeBytes(): Promise<number> {
    const { bavail, bsize } = await this.steps.statfs(this.folder.root)
    return bavail * bsize
  }

  private async create(cardPath: string, bytes: number): Promise<EffectResult> {
    const path = await this.folder.place(cardPath)
    await this.closeFile()
    await this.folder.makeFolders(cardPath)
    // What an interrupted staging left under this name.
    await this.steps.unlink(path).catch(allowing('ENOENT'))
    const { bavail, bsize } = await this.steps.statfs(this.folder.root)
    if (clustersFor(bytes, bsize) > bavail) return { got: 'failed', why: 'full' }
    this.open = { path, for: 'write', handle: await this.steps.open(path, NEW_FILE, 0o666) }
    this.parts.add(cardPath)
    return DONE
  }

  private async write(path: string, offset: number, octets: Uint8Array): Promise<EffectResult> {
    if (this.open?.path !== path || this.open.for !== 'write') return { got: 'failed', why: 'not-found' }
    for (let done = 0; done < octets.length; ) {
      const { bytesWritten } = await this.open.handle.write(octets, done, octets.length - done, offset + done)
      if (bytesWritten === 0) return { got: 'failed', why: 'full' }
      done += bytesWritten
    }
    return DONE
  }

  private async flush(path: string): Promise<EffectResult> {
    if (this.open?.path !== path || this.open.for !== 'write') return { got: 'failed', why: 'not-found' }
    await this.open.handle.sync()
    await this.closeFile()
    return DONE
  }

  private async read(path: string, offset: number, bytes: number): Promise<Uint8Array> {
    if (this.mayReadDirect && DIRECT_FLAGS !== undefined)
      try {
        const handle = await this.opened(path, 'direct-read', DIRECT_FLAGS | (constants.O_NOFOLLOW ?? 0))
        const octets = await this.direct.read(handle, offset, bytes)
        this.readDirect = true
        return octets
      } catch (error) {
        if (!['EINVAL', 'ENOTSUP'].includes(errorCode(error))) throw error
        this.mayReadDirect = false
      }
    const handle = await this.opened(path, 'read', PLAIN_READ)
    this.readCached = true
    const octets = new Uint8Array(bytes)
    let got = 0
    while (got < bytes) {
      const { bytesRead } = await handle.read(octets, got, bytes - got, offset + got)
      if (bytesRead === 0) break
      got += bytesRead
    }
    return octets.subarray(0, got)
  }

  private async opened(path: string, how: OpenFile['for'], flags: number): Promise<fs.FileHandle> {
    if (this.open?.path === path && this.open.for === how) return this.open.handle
    await this.closeFile()
    const handle = await this.steps.open(path, flags)
    this.open = { path, for: how, handle }
    return handle
  }

  private async rename(from: string, to: string): Promise<EffectResult> {
    await this.closeFile()
    const target = await this.folder.place(to)
    await this.steps.rename(await this.folder.place(from), target)
    this.parts.delete(from)
    this.renamed.push(to)
    await this.folder.flushFolder(join(target, '..'))
    return DONE
  }

  private async remove(cardPath: string): Promise<EffectResult> {
    // Closing may report what a write could not do; the file is to go all the same.
    await this.closeFile().catch(() => {})
    await this.steps.unlink(await this.folder.place(cardPath)).catch(allowing('ENOENT'))
    this.parts.delete(cardPath)
    return DONE
  }

  private async size(path: string): Promise<number> {
    return Number((await this.steps.lstat(path, { bigint: true })).size)
  }

  private async closeFile(): Promise<void> {
    const { open } = this
    this.open = undefined
    await open?.handle.close()
  }
}

/** For `catch`: lets this one error pass. */
const allowing = (code: string) => (error: unknown) => {
  if (errorCode(error) !== code) throw error
}
