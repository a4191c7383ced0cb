import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { libraryMethods } from '../../shared/api/library.ts'
import type { Library } from '../store/library.ts'

export type LibraryHandlers = Pick<Handlers<AppContract>, keyof typeof libraryMethods>

/** `library.…`: the images that are kept in the data folder. */
export function libraryHandlers(library: Library): LibraryHandlers {
  return {
    'library.list': async () => ({ entries: await library.list() }),
    'library.import': async ({ files }) => ({ imported: await library.import(files) }),
    'library.remove': async ({ id }) => {
      await library.remove(id)
      return {}
    },
    'library.restore': async ({ id }) => ({ entry: await library.restore(id) }),
    'library.setCard': async ({ id, card }) => ({ entry: await library.setCard(id, card) }),
    'library.read': ({ id }) => library.read(id),
  }
}
