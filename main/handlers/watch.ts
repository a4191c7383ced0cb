import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { watchMethods } from '../../shared/api/watch.ts'
import { checkFolder, listFolder } from '../store/folders.ts'
import type { SettingsFile } from '../store/settings.ts'
import type { WatchedFolder } from '../store/watched-folder.ts'

/** `watch.…`: the folder whose new images are taken in by themselves. Goes on where the last start left off. */
export function watchHandlers(
  dataFolder: string,
  settings: SettingsFile,
  watched: WatchedFolder,
): Pick<Handlers<AppContract>, keyof typeof watchMethods> {
  const started = settings
    .get()
    .then(async ({ settings: { watchedFolder } }) => {
      if (watchedFolder !== undefined) await watched.use(watchedFolder)
    })
    .catch(() => {})
  return {
    'watch.get': async () => {
      await started
      return watched.state
    },
    'watch.set': async ({ folder }) => {
      await started
      const path = folder === null ? undefined : await checkFolder(folder, dataFolder)
      await settings.setWatchedFolder(path)
      await watched.use(path)
      return watched.state
    },
    'watch.seen': async () => {
      await watched.seen()
      return watched.state
    },
    'watch.folders': ({ path }) => listFolder(path, dataFolder),
  }
}
