import type { Bench } from '../../shared/model/bench.ts'
import { Editor } from './Editor.tsx'
import { add, change, changeBench } from './edit.ts'
import { benchSelf, type Entry, findEntry, type Kind, kinds, nameOf } from './kinds.ts'

/** What is being edited: a thing on the bench, a draft that is not on it yet, or the bench itself. */
export type Editing =
  | { readonly what: 'change'; readonly kind: Kind; readonly id: string }
  | { readonly what: 'add'; readonly kind: Kind; readonly start: Entry; readonly copyOf?: string }
  | { readonly what: 'bench' }

export interface EditDialogProps {
  readonly editing: Editing
  readonly bench: Bench
  readonly onChangeBench: (label: string, next: Bench) => void
  /** After saving, with the id the thing has now. */
  readonly onSaved: (editing: Editing, id: string) => void
  readonly onClose: () => void
}

export function EditDialog({ editing, bench, onChangeBench, onSaved, onClose }: EditDialogProps) {
  const shared = {
    bench,
    onClose,
    onDone: (label: string, next: Bench, id: string) => {
      onChangeBench(label, next)
      onSaved(editing, id)
    },
  }
  if (editing.what === 'bench') {
    const { name, note, wiring } = bench
    return (
      <Editor
        {...shared}
        title="Name and wiring"
        lead="What this bench is called, and how the table is set up for an update."
        what={benchSelf}
        start={{ name, note, wiring }}
        save={draft => changeBench(bench, draft)}
        saveWord="Keep changes"
      />
    )
  }
  const { kind } = editing
  const { one, about } = kinds[kind]
  if (editing.what === 'add')
    return (
      <Editor
        {...shared}
        title={editing.copyOf === undefined ? `New ${one}` : `Copy of ${editing.copyOf}`}
        lead={editing.copyOf === undefined ? about : `A second ${one} like it. It is not on the bench yet.`}
        what={kinds[kind]}
        start={editing.start}
        isNew={editing.copyOf === undefined}
        save={draft => add(bench, kind, draft as Entry)}
        saveWord={`Add the ${one}`}
      />
    )
  const entry = findEntry(bench, kind, editing.id)
  if (entry === undefined) return null
  return (
    <Editor
      {...shared}
      title={nameOf(kind, entry)}
      lead={about}
      what={kinds[kind]}
      start={entry}
      save={draft => change(bench, kind, editing.id, draft as Entry)}
      saveWord="Keep changes"
    />
  )
}
