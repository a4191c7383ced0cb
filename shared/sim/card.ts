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
  /** The folder takes a cluster of its own when the first file is made in it. */
  private folderMade = false
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
    const file = this.files.get(path)
    if (file) file.octets = octets
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
        const file = this.files.get(request.path)
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
    const file = this.files.get(path)
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
        return { result: this.files.has(request.path) ? DONE : failed('not-found'), ms: 20 }
      case 'rename':
        return { result: this.rename(request.path, request.to), ms: REQUEST_MS }
      case 'remove':
        return { result: this.remove(request.path), ms: REQUEST_MS }
    }
  }

  private create(path: string, bytes: number): EffectResult {
    const clusterBytes = this.unit?.clusterBytes ?? 4096
    this.remove(path)
    const clusters = Math.ceil(bytes / clusterBytes)
    const folder = this.folderMade ? 0 : 1
    if (clusters + folder > this.freeClusters) return failed('full')
    this.freeClusters -= clusters + folder
    this.folderMade = true
    this.files.set(path, { octets: new Uint8Array(bytes), clusters })
    return DONE
  }

  private write(path: string, offset: number, octets: Uint8Array): { result: EffectResult; ms: number } {
    const file = this.files.get(path)
    const ms = REQUEST_MS + (octets.length / (this.unit?.writeBytesPerSecond ?? 1)) * 1000
    if (!file) return { result: failed('not-found'), ms: REQUEST_MS }
    if (offset + octets.length > file.octets.length) return { result: failed('full'), ms: REQUEST_MS }
    file.octets.set(octets, offset)
    return { result: DONE, ms }
  }

  private rename(path: string, to: string): EffectResult {
    const file = this.files.get(path)
    if (!file) return failed('not-found')
    if (to === path) return DONE
    this.remove(to)
    this.files.delete(path)
    this.files.set(to, file)
    return DONE
  }

  private remove(path: string): EffectResult {
    const file = this.files.get(path)
    if (file) {
      this.freeClusters += file.clusters
      this.files.delete(path)
    }
    return DONE
  }
}
