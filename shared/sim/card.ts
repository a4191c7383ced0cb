import { clustersFor, folderClusters, foldersAbove, MAX_FILE_BYTES } from '../card/clusters.ts'
import { checkCardPath, foldPath, namesOf } from '../card/names.ts'
import type { CardUnit } from '../model/gear.ts'
import type { EffectResult, StoreFailure, StoreRequest } from '../procedure/effects.ts'
import type { TraceRecorder } from './trace.ts'

const DONE: EffectResult = { got: 'done' }
const failed = (why: StoreFailure): EffectResult => ({ got: 'failed', why })
const READ_BYTES_PER_SECOND = 4_000_000
const REQUEST_MS = 0.4

/** A file as it lies on the card, in whole clusters. */
interface CardFile {
  octets: Uint8Array
  clusters: number
}

/** The storage volume in the radio: clusters, free space, and somebody who may pull it. */
export class VirtualCard {
  readonly files = new Map<string, CardFile>()
  private freeClusters: number
  /** Folders take clusters of their own when the first file is made in them. */
  private readonly foldersMade = new Set<string>()
  private present: boolean
  private readonly unit: CardUnit | undefined
  private readonly trace: TraceRecorder

  constructor(unit: CardUnit | undefined, trace: TraceRecorder) {
    this.unit = unit
    this.trace = trace
    this.present = unit !== undefined
    this.freeClusters = unit === undefined ? 0 : Math.floor(unit.freeBytes / unit.clusterBytes)
    this.trace.device(0, 'card', this.present ? 'in the radio' : 'absent', this.present)
  }

  pull(atNs: number): void {
    if (!this.present) return
    this.present = false
    this.trace.device(atNs, 'card', 'pulled', false)
    this.trace.event(atNs, {
      kind: 'fault',
      fault: 'card-pulled',
      text: 'The card was pulled out of the radio.',
    })
  }

  /** Somebody outside the session changes a file: what the damaged-image and wrong-type faults do. */
  replace(path: string, octets: Uint8Array): void {
    const file = this.find(path)
    if (file) file.octets = octets
  }

  /** As it was written, however the name is spelt now: a card does not tell capitals from small letters. */
  private nameOf(path: string): string | undefined {
    if (this.files.has(path)) return path
    const folded = foldPath(path)
    for (const name of this.files.keys()) if (foldPath(name) === folded) return name
    return undefined
  }

  private find(path: string): CardFile | undefined {
    const name = this.nameOf(path)
    return name === undefined ? undefined : this.files.get(name)
  }

  /** @returns the answer, and how long the card takes over it */
  ask(request: StoreRequest): { result: EffectResult; ms: number } {
    if (!this.present || this.unit === undefined) return { result: failed('absent'), ms: REQUEST_MS }
    switch (request.op) {
      case 'space':
        return {
          result: { got: 'number', value: this.freeClusters * this.unit.clusterBytes },
          ms: REQUEST_MS,
        }
      case 'size': {
        const file = this.find(request.path)
        return {
          result: file ? { got: 'number', value: file.octets.length } : failed('not-found'),
          ms: REQUEST_MS,
        }
      }
      case 'read':
        return this.read(request.path, request.offset, request.bytes)
      default:
        return this.unit.readOnly ? { result: failed('read-only'), ms: REQUEST_MS } : this.change(request)
    }
  }

  private read(path: string, offset: number, bytes: number): { result: EffectResult; ms: number } {
    const file = this.find(path)
    if (!file) return { result: failed('not-found'), ms: REQUEST_MS }
    const octets = file.octets.subarray(offset, offset + bytes)
    return {
      result: { got: 'octets', octets },
      ms: REQUEST_MS + (octets.length / READ_BYTES_PER_SECOND) * 1000,
    }
  }

  private change(request: Exclude<StoreRequest, { op: 'space' | 'size' | 'read' }>): {
    result: EffectResult
    ms: number
  } {
    switch (request.op) {
      case 'create':
        return { result: this.create(request.path, request.bytes), ms: REQUEST_MS }
      case 'write':
        return this.write(request.path, request.offset, request.octets)
      case 'flush':
        return { result: this.find(request.path) ? DONE : failed('not-found'), ms: 20 }
      case 'rename':
        return { result: this.rename(request.path, request.to), ms: REQUEST_MS }
      case 'remove':
        return { result: this.remove(request.path), ms: REQUEST_MS }
    }
  }

  private create(path: string, bytes: number): EffectResult {
    if (checkCardPath(path).length > 0) return failed('name')
    const clusterBytes = this.unit?.clusterBytes ?? 4096
    this.remove(path)
    if (bytes > MAX_FILE_BYTES) return failed('full')
    const clusters = clustersFor(bytes, clusterBytes)
    const folders = foldersAbove(path).filter(folder => !this.foldersMade.has(foldPath(folder)))
    const entries = namesOf(path).slice(-folders.length)
    const taken = folders.reduce((sum, _, i) => sum + folderClusters([entries[i]], clusterBytes), clusters)
    if (taken > this.freeClusters) return failed('full')
    this.freeClusters -= taken
    for (const folder of folders) this.foldersMade.add(foldPath(folder))
    this.files.set(path, { octets: new Uint8Array(bytes), clusters })
    return DONE
  }

  private write(path: string, offset: number, octets: Uint8Array): { result: EffectResult; ms: number } {
    const file = this.find(path)
    const ms = REQUEST_MS + (octets.length / (this.unit?.writeBytesPerSecond ?? 1)) * 1000
    if (!file) return { result: failed('not-found'), ms: REQUEST_MS }
    if (offset + octets.length > file.octets.length) return { result: failed('full'), ms: REQUEST_MS }
    file.octets.set(octets, offset)
    return { result: DONE, ms }
  }

  private rename(path: string, to: string): EffectResult {
    const from = this.nameOf(path)
    const file = from === undefined ? undefined : this.files.get(from)
    if (from === undefined || file === undefined) return failed('not-found')
    if (checkCardPath(to).length > 0) return failed('name')
    if (to === from) return DONE
    if (this.nameOf(to) !== from) this.remove(to)
    this.files.delete(from)
    this.files.set(to, file)
    return DONE
  }

  private remove(path: string): EffectResult {
    const name = this.nameOf(path)
    const file = name === undefined ? undefined : this.files.get(name)
    if (name !== undefined && file) {
      this.freeClusters += file.clusters
      this.files.delete(name)
    }
    return DONE
  }
}
