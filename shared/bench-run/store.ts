import type { EffectResult, StoreRequest } from '../procedure/effects.ts'

/** A place for files that is nothing but memory: where a rehearsal keeps its backup. */
export class MemoryStore {
  readonly files = new Map<string, Uint8Array>()
  static readonly #roomBytes = 64 * 1024 * 1024

  ask(request: StoreRequest): EffectResult {
    if (request.op === 'space') return { got: 'number', value: MemoryStore.#roomBytes }
    if (request.op === 'create') {
      if (request.bytes > MemoryStore.#roomBytes) return { got: 'failed', why: 'full' }
      this.files.set(request.path, new Uint8Array(request.bytes))
      return { got: 'done' }
    }
    const file = this.files.get(request.path)
    if (file === undefined) return { got: 'failed', why: 'not-found' }
    switch (request.op) {
      case 'size':
        return { got: 'number', value: file.length }
      case 'read':
        return { got: 'octets', octets: file.slice(request.offset, request.offset + request.bytes) }
      case 'write':
        if (request.offset + request.octets.length > file.length) return { got: 'failed', why: 'full' }
        file.set(request.octets, request.offset)
        return { got: 'done' }
      case 'flush':
        return { got: 'done' }
      case 'rename':
        this.files.delete(request.path)
        this.files.set(request.to, file)
        return { got: 'done' }
      case 'remove':
        this.files.delete(request.path)
        return { got: 'done' }
    }
  }
}
