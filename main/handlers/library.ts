import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { libraryMethods } from '../../shared/api/library.ts'
import type { Events } from '../../shared/api/serve.ts'
import type { Library } from '../store/library.ts'

export type LibraryHandlers = Pick<Handlers<AppContract>, keyof typeof libraryMethods>

/** `library.…`: the images that are kept in the data folder. */
export function libraryHandlers(library: Library, events: Events<AppContract>): LibraryHandlers {
  const underWay = new Map<string, AbortController>()
  return {
    'library.list': async () => ({ entries: await library.list() }),
    'library.import': async ({ files, importId }) => {
      if (importId === undefined) return { imported: await library.import(files) }
      const abort = new AbortController()
      underWay.set(importId, abort)
      try {
        const onProgress = (fileName: string, done: number) =>
          events.emit('library.progress', { importId, fileName, done })
        return { imported: await library.import(files, { signal: abort.signal, onProgress }) }
      } finally {
        if (underWay.get(importId) === abort) underWay.delete(importId)
      }
    },
    'library.stop': ({ importId }) => {
      underWay.get(importId)?.abort()
      return {}
    },
    'library.remove': async ({ id }) => {
      await library.remove(id)
      return {}
    },
    'library.restore': async ({ id }) => ({ entry: await library.restore(id) }),
    'library.setCard': async ({ id, card, cardFrom }) => ({
      entry: await library.setCard(id, card, cardFrom),
    }),
    'library.compareDigest': async ({ id, sha256 }) => ({ entry: await library.compareDigest(id, sha256) }),
    'library.read': ({ id }) => library.read(id),
  }
}
