import { useEffect, useState } from 'react'
import type { LibraryEntry } from '../../../shared/library/entry.ts'
import { entryFacts } from '../../../shared/library/facts.ts'
import { type Bench, findType } from '../../../shared/model/bench.ts'
import type { RehearseClient } from '../client.ts'

/** The images of the library, undefined until they are there; none where they cannot be had, which the firmware view says more about. */
export function useLibraryImages(client: RehearseClient): readonly LibraryEntry[] | undefined {
  const [entries, setEntries] = useState<readonly LibraryEntry[]>()
  useEffect(() => {
    let isCurrent = true
    const load = () =>
      client.call('library.list', {}).then(
        reply => isCurrent && setEntries(reply.entries),
        () => isCurrent && setEntries(before => before ?? []),
      )
    void load()
    // The watched folder, or another window, may bring one while this view is shown.
    const stop = client.on('library.changed', () => void load())
    return () => {
      isCurrent = false
      stop()
    }
  }, [client])
  return entries
}

/** Those for the receiver's type, and the chosen one whatever it is for. */
export function libraryImagesFor(
  entries: readonly LibraryEntry[],
  bench: Bench,
  receiverId: string | undefined,
  chosenId: string | undefined,
): readonly LibraryEntry[] {
  const typeId = bench.receivers.find(r => r.id === receiverId)?.typeId
  const type = typeId === undefined ? undefined : findType(bench.catalogue, 'receiverTypes', typeId)
  return entries.filter(
    entry =>
      entry.id === chosenId || (type !== undefined && entryFacts(entry, bench, type).typeId === typeId),
  )
}
