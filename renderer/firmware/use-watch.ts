import { useCallback, useEffect, useState } from 'react'
import type { WatchState } from '../../shared/api/watch.ts'
import type { LibraryClient } from './use-library.ts'

/** What the watched folder is about; undefined until the first answer has come. */
export function useWatch(client: LibraryClient) {
  const [watch, setWatch] = useState<WatchState>()
  useEffect(() => {
    const load = () => void client.call('watch.get', {}).then(setWatch, () => {})
    load()
    return client.on('watch.changed', load)
  }, [client])
  const seen = useCallback(() => void client.call('watch.seen', {}).then(setWatch, () => {}), [client])
  return { watch, setWatch, seen }
}
