import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import { SettingsFile } from '../store/settings.ts'

/** `settings.…`: what the program remembers between two starts. */
export function settingsHandlers(env: {
  readonly dataFolder: string
}): Pick<Handlers<AppContract>, 'settings.get' | 'settings.set'> {
  const file = new SettingsFile(env.dataFolder)
  return {
    'settings.get': () => file.get(),
    'settings.set': async ({ settings }) => ({ settings: await file.set(settings) }),
  }
}
