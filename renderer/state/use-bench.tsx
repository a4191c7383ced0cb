import {
  createContext,
  type ReactNode,
  useCallback,
  useContext,
  useEffect,
  useMemo,
  useReducer,
  useRef,
  useState,
} from 'react'
import { demoBench, demoDefaults } from '../../shared/demo/bench.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { AppClient } from '../api/client.ts'
import { benchReducer, hasUnsaved, type OpenBench } from './bench-state.ts'

export interface BenchDesk {
  readonly open: OpenBench | undefined
  change(label: string, bench: Bench): void
  undo(): void
  redo(): void
  choose(receiverId: string | undefined): void
  openDemo(): void
  openNew(bench: Bench, receiverId: string): void
  /** Opens a file of the data folder. Rejects with problems. */
  openFile(fileName: string): Promise<void>
  /** Opens a bench from text that came by dialog or drag and drop. Rejects with problems. */
  openText(fileName: string, text: string): Promise<void>
  /** Saves in place. @returns false when a name has to be asked for first */
  save(): Promise<boolean>
  saveAs(fileName: string, overwrite: boolean): Promise<void>
  close(): void
  /** Unsaved changes that an earlier window left behind. */
  readonly draft: Bench | undefined
  carryOn(): void
}

const Context = createContext<BenchDesk | undefined>(undefined)

export function useBench(): BenchDesk {
  const desk = useContext(Context)
  if (desk === undefined) throw new Error('useBench is used outside BenchProvider')
  return desk
}

export function BenchProvider({
  client,
  children,
}: {
  readonly client: AppClient
  readonly children: ReactNode
}) {
  const [open, dispatch] = useReducer(benchReducer, undefined)
  const [draft, setDraft] = useState<Bench>()
  const current = useRef(open)
  current.current = open

  useEffect(() => {
    client.call('draft.get', {}).then(
      kept => setDraft(kept.bench ?? undefined),
      () => {},
    )
  }, [client])

  useEffect(() => {
    if (open === undefined) return
    const bench = hasUnsaved(open) ? open.bench : null
    // A draft that cannot be kept is no reason to disturb anybody at work; saving will say what is wrong.
    const timer = setTimeout(() => void client.call('draft.set', { bench }).catch(() => {}), 400)
    return () => clearTimeout(timer)
  }, [open, client])

  const write = useCallback(
    async (fileName: string, expectedRevision: string | null, overwrite: boolean) => {
      const state = current.current
      if (state === undefined) return
      const { bench } = state
      const saved = await client.call('bench.save', { fileName, bench, expectedRevision, overwrite })
      dispatch({ do: 'saved', bench, fileName: saved.fileName, revision: saved.revision })
    },
    [client],
  )

  const desk = useMemo<BenchDesk>(
    () => ({
      open,
      change: (label, bench) => dispatch({ do: 'change', label, bench }),
      undo: () => dispatch({ do: 'undo' }),
      redo: () => dispatch({ do: 'redo' }),
      choose: receiverId => dispatch({ do: 'choose', receiverId }),
      openDemo: () =>
        dispatch({ do: 'open', bench: demoBench(), file: undefined, receiverId: demoDefaults.receiverId }),
      openNew: (bench, receiverId) =>
        dispatch({ do: 'open', bench, file: undefined, receiverId, unsaved: true }),
      openFile: async fileName => {
        const opened = await client.call('bench.open', { fileName })
        dispatch({
          do: 'open',
          bench: opened.bench,
          file: { fileName: opened.fileName, revision: opened.revision },
        })
      },
      openText: async (fileName, text) => {
        const { bench } = await client.call('bench.check', { fileName, text })
        dispatch({ do: 'open', bench, file: undefined, unsaved: true })
      },
      save: async () => {
        const file = current.current?.file
        if (file === undefined) return false
        await write(file.fileName, file.revision, false)
        return true
      },
      saveAs: (fileName, overwrite) => write(fileName, null, overwrite),
      close: () => dispatch({ do: 'close' }),
      draft,
      carryOn: () => {
        if (draft) dispatch({ do: 'open', bench: draft, file: undefined, unsaved: true })
      },
    }),
    [open, client, write, draft],
  )
  return <Context value={desk}>{children}</Context>
}
