import { useCallback, useEffect, useMemo, useState } from 'react'
import type { ImageCard } from '../../shared/image/image-card.ts'
import type { LibraryEntry } from '../../shared/library/entry.ts'
import type { Problem } from '../../shared/model/problem.ts'
import type { AppClient } from '../api/client.ts'
import { problemsOf } from '../ui/Notice.tsx'
import {
  type FileLike,
  type ImportedFile,
  importFiles,
  type Outcome,
  type ReadyFile,
} from './import-files.ts'

export type LibraryClient = Pick<AppClient, 'call'>

export interface Importing {
  readonly done: number
  readonly all: number
}

export interface LibraryDesk {
  /** Undefined until the first answer has come. */
  readonly entries: readonly LibraryEntry[] | undefined
  readonly importing: Importing | undefined
  readonly outcomes: readonly Outcome[]
  readonly problems: readonly Problem[]
  take(files: readonly FileLike[]): Promise<readonly Outcome[]>
  remove(id: string): Promise<boolean>
  restore(id: string): Promise<boolean>
  setCard(id: string, card: ImageCard | null): Promise<boolean>
  clearOutcomes(): void
  clearProblems(): void
}

/** A parcel that does not arrive is told file by file: the others may still have been taken. */
async function handOver(
  client: LibraryClient,
  parcel: readonly ReadyFile[],
): Promise<readonly ImportedFile[]> {
  try {
    return (await client.call('library.import', { files: [...parcel] })).imported
  } catch (error) {
    const problems = [...problemsOf(error)]
    return parcel.map(({ fileName }) => ({ fileName, got: 'problems', problems }))
  }
}

/** The library in the window: what is in it, and what may be done with it. Each change is read back from the machine. */
export function useLibrary(client: LibraryClient): LibraryDesk {
  const [entries, setEntries] = useState<readonly LibraryEntry[]>()
  const [importing, setImporting] = useState<Importing>()
  const [outcomes, setOutcomes] = useState<readonly Outcome[]>([])
  const [problems, setProblems] = useState<readonly Problem[]>([])

  const load = useCallback(async () => {
    const { entries: listed } = await client.call('library.list', {})
    setEntries(listed)
  }, [client])

  const attempt = useCallback(
    async (work: () => Promise<unknown>): Promise<boolean> => {
      try {
        await work()
        await load()
        setProblems([])
        return true
      } catch (error) {
        setProblems(problemsOf(error))
        return false
      }
    },
    [load],
  )

  useEffect(() => {
    void attempt(async () => {})
  }, [attempt])

  const take = useCallback(
    async (files: readonly FileLike[]) => {
      let told: readonly Outcome[] = []
      setImporting({ done: 0, all: files.length })
      await attempt(async () => {
        told = await importFiles(
          files,
          parcel => handOver(client, parcel),
          (done, all) => setImporting({ done, all }),
        )
        setOutcomes(told)
      })
      setImporting(undefined)
      return told
    },
    [attempt, client],
  )

  return useMemo(
    () => ({
      entries,
      importing,
      outcomes,
      problems,
      take,
      remove: id => attempt(() => client.call('library.remove', { id })),
      restore: id => attempt(() => client.call('library.restore', { id })),
      setCard: (id, card) => attempt(() => client.call('library.setCard', { id, card })),
      clearOutcomes: () => setOutcomes([]),
      clearProblems: () => setProblems([]),
    }),
    [entries, importing, outcomes, problems, take, attempt, client],
  )
}
