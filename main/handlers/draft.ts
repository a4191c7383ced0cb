import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import { Draft } from '../store/draft.ts'

/** `draft.…`: what was changed and not saved when the window went away. */
export function draftHandlers(env: {
  readonly dataFolder: string
}): Pick<Handlers<AppContract>, 'draft.get' | 'draft.set'> {
  const draft = new Draft(env.dataFolder)
  return {
    'draft.get': async () => ({ draft: await draft.get() }),
    'draft.set': async ({ draft: next }) => {
      await draft.set(next)
      return {}
    },
  }
}
