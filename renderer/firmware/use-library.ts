import { useCallback, useEffect, useMemo, useRef, useState } from 'react'
import type { ImageCard } from '../../shared/image/image-card.ts'
import type { Uf2Family } from '../../shared/image/uf2-families.ts'
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
  withAlikeWords,
} from './import-files.ts'

export type LibraryClient = Pick<AppClient, 'call' | 'on'>

export interface Importing {
  readonly done: number
  readonly all: number
  /** The file that was read last. */
  readonly name?: string
}

export interface TakeOptions {
  /** The files are all that was in a folder, not chosen one by one. */
  readonly among?: boolean
  /** What was left out of a folder because there is too much of it. */
  readonly bounds?: readonly string[]
}

export interface LibraryDesk {
  /** Undefined until the first answer has come. */
  readonly entries: readonly LibraryEntry[] | undefined
  readonly importing: Importing | undefined
  readonly outcomes: readonly Outcome[]
  readonly bounds: readonly string[]
  readonly problems: readonly Problem[]
  take(files: readonly FileLike[], options?: TakeOptions): Promise<readonly Outcome[]>
  /** Takes the images of these families out of a file that has several. */
  takeFamilies(outcome: Outcome, families: readonly Uf2Family[]): Promise<readonly Outcome[]>
  /** What has been taken stays. */
  stop(): void
  remove(id: string): Promise<boolean>
  restore(id: string): Promise<boolean>
  /** @param sha256 what the maker publishes; null takes the comparison back */
  compareDigest(id: string, sha256: string | null): Promise<boolean>
  setCard(id: string, card: ImageCard | null, cardFrom?: LibraryEntry['cardFrom']): Promise<boolean>
  clearOutcomes(): void
  clearProblems(): void
}

/** A parcel that does not arrive is told file by file: the others may still have been taken. */
async function handOver(
  client: LibraryClient,
  parcel: readonly ReadyFile[],
  importId: string,
): Promise<readonly ImportedFile[]> {
  try {
    return (await client.call('library.import', { files: [...parcel], importId })).imported
  } catch (error) {
    const problems = [...problemsOf(error)]
    return parcel.map(({ fileName }) => ({ fileName, got: 'problems', problems }))
  }
}

/** The library in the window: what is in it, and what may be done with it. Each change is read back from the machine. */
export function useLibrary(client: LibraryClient): LibraryDesk {
  const [entries, setEntries] = useState<readonly LibraryEntry[]>()
  const [outcomes, setOutcomes] = useState<readonly Outcome[]>([])
  const [bounds, setBounds] = useState<readonly string[]>([])
  const [problems, setProblems] = useState<readonly Problem[]>([])

  const load = useCallback(async () => {
    const { entries: listed } = await client.call('library.list', {})
    setEntries(listed)
    return listed
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
    // Another window, the watched folder or a change of the keys.
    return client.on('library.changed', () => void load().catch(() => {}))
  }, [attempt, client, load])

  const { importing, run, stop } = useImporting(client)

  const take = useCallback(
    async (files: readonly FileLike[], { among = false, bounds: said = [] }: TakeOptions = {}) => {
      let told: readonly Outcome[] = []
      await attempt(async () => {
        told = await run(files.length, (hand, tell, signal) =>
          importFiles(files, { hand, tell, among, signal }),
        )
        told = withAlikeWords(told, await load())
        setOutcomes(told)
        setBounds(said)
      })
      return told
    },
    [attempt, load, run],
  )

  const takeFamilies = useCallback(
    async (outcome: Outcome, families: readonly Uf2Family[]) => {
      const { again } = outcome
      if (again === undefined) return []
      let told: readonly Outcome[] = []
      await attempt(async () => {
        const file = { ...again, families: [...families] }
        const name = { name: file.fileName, size: file.octets.length }
        const like = { ...name, arrayBuffer: async () => file.octets.slice().buffer, text: async () => '' }
        told = await run(1, (hand, tell, signal) =>
          importFiles([like], { hand: () => hand([file]), tell, signal }),
        )
        const words = withAlikeWords(told, await load())
        setOutcomes(before => before.flatMap(one => (one === outcome ? words : [one])))
      })
      return told
    },
    [attempt, load, run],
  )

  return useMemo(
    () => ({
      entries,
      importing,
      outcomes,
      bounds,
      problems,
      take,
      takeFamilies,
      stop,
      remove: id => attempt(() => client.call('library.remove', { id })),
      restore: id => attempt(() => client.call('library.restore', { id })),
      compareDigest: (id, sha256) => attempt(() => client.call('library.compareDigest', { id, sha256 })),
      setCard: (id, card, cardFrom) => attempt(() => client.call('library.setCard', { id, card, cardFrom })),
      clearOutcomes: () => {
        setOutcomes([])
        setBounds([])
      },
      clearProblems: () => setProblems([]),
    }),
    [entries, importing, outcomes, bounds, problems, take, takeFamilies, stop, attempt, client],
  )
}

type Hand = (parcel: readonly ReadyFile[]) => Promise<readonly ImportedFile[]>
type Work = (hand: Hand, tell: (done: number, all: number) => void, signal: AbortSignal) => Promise<Outcome[]>

/** One import at a time, which can be followed and stopped. */
function useImporting(client: LibraryClient) {
  const [importing, setImporting] = useState<Importing>()
  const underWay = useRef<{ readonly importId: string; readonly abort: AbortController }>(undefined)
  const before = useRef(0)
  useEffect(
    () =>
      client.on('library.progress', ({ importId, fileName, done }) => {
        if (importId !== underWay.current?.importId) return
        setImporting(now => now && { ...now, done: before.current + done, name: fileName })
      }),
    [client],
  )
  const run = useCallback(
    async (all: number, work: Work) => {
      const mine = { importId: crypto.randomUUID(), abort: new AbortController() }
      underWay.current = mine
      before.current = 0
      setImporting({ done: 0, all })
      const tell = (done: number, of: number) => {
        before.current = done
        setImporting({ done, all: of })
      }
      try {
        return await work(parcel => handOver(client, parcel, mine.importId), tell, mine.abort.signal)
      } finally {
        underWay.current = undefined
        setImporting(undefined)
      }
    },
    [client],
  )
  const stop = useCallback(() => {
    const mine = underWay.current
    mine?.abort.abort()
    if (mine) void client.call('library.stop', { importId: mine.importId }).catch(() => {})
  }, [client])
  return { importing, run, stop }
}
