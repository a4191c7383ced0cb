import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { dialectsMethods } from '../../shared/api/dialects.ts'
import { type Events, ProblemsError } from '../../shared/api/serve.ts'
import type { DialectFiles } from '../store/dialect-files.ts'

/** `dialects.…`: the ways of writing, built in and of the data folder. */
export function dialectsHandlers(
  files: DialectFiles,
  events: Events<AppContract>,
): Pick<Handlers<AppContract>, keyof typeof dialectsMethods> {
  const changed = () => events.emit('dialects.changed', {})
  return {
    'dialects.list': () => files.list(),
    'dialects.read': async ({ name }) => ({ text: await files.text(name) }),
    'dialects.save': async ({ text }) => {
      const saved = await files.save(text)
      if (!saved.ok) throw new ProblemsError(saved.problems)
      changed()
      return { ...(await files.list()), ...saved.value }
    },
    'dialects.remove': async ({ name }) => {
      await files.remove(name)
      changed()
      return files.list()
    },
  }
}
