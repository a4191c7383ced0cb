import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { keysMethods } from '../../shared/api/keys.ts'
import type { KeysFile } from '../store/keys.ts'

/**
 * `keys.…`: the makers' keys that the person trusts.
 * @param onChange is called when others are trusted than before
 */
export function keysHandlers(
  file: KeysFile,
  onChange: () => void,
): Pick<Handlers<AppContract>, keyof typeof keysMethods> {
  return {
    'keys.list': () => file.get(),
    'keys.add': async typed => {
      const keys = await file.add(typed)
      onChange()
      return { keys }
    },
    'keys.remove': async ({ keyId }) => {
      const done = await file.remove(keyId)
      onChange()
      return done
    },
    'keys.import': async ({ fileName, text }) => {
      const done = await file.import(text, fileName)
      if (done.added.length > 0) onChange()
      return done
    },
  }
}
