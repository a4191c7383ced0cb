import {
  createContext,
  type ReactNode,
  useCallback,
  useContext,
  useEffect,
  useMemo,
  useReducer,
  useRef,
} from 'react'
import type { BenchDraft } from '../../shared/api/bench-files.ts'
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
  /** Opens a bench that has no file yet. */
  openNew(bench: Bench, receiverId?: string): void
  /** Opens a file of the data folder. Rejects with problems. */
  openFile(fileName: string): Promise<void>
  /**
   * Saves in place, over whatever is there when `overwrite` is said.
   * @returns false when a name has to be asked for first
   */
  save(overwrite?: boolean): Promise<boolean>
  saveAs(fileName: string, overwrite: boolean): Promise<void>
  /** Unsaved changes that an earlier window left behind, until they are taken up or given up. */
  readonly draft: BenchDraft | undefined
  carryOn(): void
}

const Context = createContext<BenchDesk | undefined>(undefined)

export function useBench(): BenchDesk {
  const desk = useContext(Context)
  if (desk === undefined) throw new Error('useBench is used outside BenchProvider')
  return desk
}

/** Asks the machine for what was left unsaved; nothing where it does not answer. */
export async function loadDraft(client: AppClient): Promise<BenchDraft | undefined> {
  try {
    return (await client.call('draft.get', {})).draft ?? undefined
  } catch {
    return undefined
  }
}

export interface BenchProviderProps {
  readonly client: AppClient
  readonly leftBehind: BenchDraft | undefined
  readonly children: ReactNode
}

export function BenchProvider({ client, leftBehind, children }: BenchProviderProps) {
  const [open, dispatch] = useReducer(benchReducer, undefined)
  // A bench is only opened after the person has agreed to lose what was left behind.
  const draft = open === undefined ? leftBehind : undefined
  const current = useRef(open)
  current.current = open

  useEffect(() => {
    if (open === undefined) return
    const next = hasUnsaved(open) ? { bench: open.bench, file: open.file ?? null } : null
    // A draft that cannot be kept is no reason to disturb anybody at work; saving will say what is wrong.
    const keep = () => void client.call('draft.set', { draft: next }).catch(() => {})
    const timer = setTimeout(keep, 400)
    window.addEventListener('pagehide', keep)
    return () => {
      clearTimeout(timer)
      window.removeEventListener('pagehide', keep)
    }
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
      save: async (overwrite = false) => {
        const file = current.current?.file
        if (file === undefined) return false
        await write(file.fileName, file.revision, overwrite)
        return true
      },
      saveAs: (fileName, overwrite) => write(fileName, null, overwrite),
      draft,
      carryOn: () => {
        if (draft) dispatch({ do: 'open', bench: draft.bench, file: draft.file ?? undefined, unsaved: true })
      },
    }),
    [open, client, write, draft],
  )
  return <Context value={desk}>{children}</Context>
}
