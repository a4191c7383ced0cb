import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { SettingsFile } from '../store/settings.ts'

/** `settings.…`: what the program remembers between two starts. */
export function settingsHandlers(
  file: SettingsFile,
): Pick<Handlers<AppContract>, 'settings.get' | 'settings.set'> {
  return {
    'settings.get': () => file.get(),
    'settings.set': async ({ settings }) => ({ settings: await file.set(settings) }),
  }
}
