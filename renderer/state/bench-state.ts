import type { Bench } from '../../shared/model/bench.ts'

/** The bench in the window: what it is, what it was, and what is chosen on it. Pure; React only calls it. */
export interface Step {
  /** What was done, in words for "Undo …". */
  readonly label: string
  readonly bench: Bench
}

export interface OpenBench {
  readonly bench: Bench
  /** Where it is saved; undefined for the demo and for a new bench. */
  readonly file: { readonly fileName: string; readonly revision: string } | undefined
  /** The bench as it was last saved or opened; another object means unsaved changes. */
  readonly saved: Bench | undefined
  readonly past: readonly Step[]
  readonly future: readonly Step[]
  readonly receiverId: string | undefined
}

export type BenchAction =
  | {
      readonly do: 'open'
      readonly bench: Bench
      readonly file: OpenBench['file']
      readonly receiverId?: string
      readonly unsaved?: boolean
    }
  | { readonly do: 'change'; readonly label: string; readonly bench: Bench }
  | { readonly do: 'undo' }
  | { readonly do: 'redo' }
  | { readonly do: 'saved'; readonly bench: Bench; readonly fileName: string; readonly revision: string }
  | { readonly do: 'choose'; readonly receiverId: string | undefined }

const MOST_STEPS = 200

export const hasUnsaved = (open: OpenBench): boolean => open.bench !== open.saved

/** A receiver that is no longer there cannot stay chosen. */
const stillThere = (bench: Bench, id: string | undefined) =>
  bench.receivers.some(r => r.id === id) ? id : bench.receivers[0]?.id

export function benchReducer(state: OpenBench | undefined, action: BenchAction): OpenBench | undefined {
  if (action.do === 'open')
    return {
      bench: action.bench,
      file: action.file,
      saved: action.unsaved ? undefined : action.bench,
      past: [],
      future: [],
      receiverId: stillThere(action.bench, action.receiverId),
    }
  if (state === undefined) return undefined
  switch (action.do) {
    case 'change':
      return {
        ...state,
        bench: action.bench,
        past: [...state.past, { label: action.label, bench: state.bench }].slice(-MOST_STEPS),
        future: [],
        receiverId: stillThere(action.bench, state.receiverId),
      }
    case 'undo': {
      const step = state.past.at(-1)
      if (step === undefined) return state
      return {
        ...state,
        bench: step.bench,
        past: state.past.slice(0, -1),
        future: [{ label: step.label, bench: state.bench }, ...state.future],
        receiverId: stillThere(step.bench, state.receiverId),
      }
    }
    case 'redo': {
      const [step] = state.future
      if (step === undefined) return state
      return {
        ...state,
        bench: step.bench,
        past: [...state.past, { label: step.label, bench: state.bench }],
        future: state.future.slice(1),
        receiverId: stillThere(step.bench, state.receiverId),
      }
    }
    case 'saved':
      return { ...state, file: { fileName: action.fileName, revision: action.revision }, saved: action.bench }
    case 'choose':
      return { ...state, receiverId: stillThere(state.bench, action.receiverId) }
  }
}
