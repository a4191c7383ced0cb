import type { BenchDraft } from '../../shared/api/bench-files.ts'
import type { Problem } from '../../shared/model/problem.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import type { OpenBench } from '../state/bench-state.ts'
import { Ask } from './Ask.tsx'
import { SaveAs } from './SaveAs.tsx'

/** What the person has to answer before anything goes on. */
export type Asking =
  | { readonly what: 'save-as' }
  /** Something else is to be opened while there are changes that no file has. */
  | { readonly what: 'discard'; readonly then: () => void }
  /** The file on the disk is no longer the one that was opened. */
  | { readonly what: 'changed-on-disk'; readonly problem: Problem }

export interface QuestionsProps {
  readonly asking: Asking | undefined
  readonly open: OpenBench | undefined
  readonly draft: BenchDraft | undefined
  readonly onSaveAs: (fileName: string, overwrite: boolean) => Promise<void>
  readonly onReplace: () => void
  readonly onAsk: (asking: Asking | undefined) => void
}

/** The questions of the frame, one at a time. */
export function Questions({ asking, open, draft, onSaveAs, onReplace, onAsk }: QuestionsProps) {
  const close = () => onAsk(undefined)
  if (asking?.what === 'save-as' && open)
    return <SaveAs suggested={open.file?.fileName ?? open.bench.name} onSave={onSaveAs} onClose={close} />
  if (asking?.what === 'changed-on-disk')
    return (
      <Ask
        title="The file is not as you opened it"
        yes="Save under another name…"
        other={{
          label: 'Replace the file',
          onChoose: () => {
            close()
            onReplace()
          },
        }}
        onNo={close}
        onYes={() => onAsk({ what: 'save-as' })}
      >
        <p>{sayProblem(asking.problem)}</p>
      </Ask>
    )
  if (asking?.what !== 'discard') return null
  return (
    <Ask
      title={open ? 'There are unsaved changes' : 'There are unsaved changes from last time'}
      yes="Go on without saving"
      onNo={close}
      onYes={() => {
        close()
        asking.then()
      }}
    >
      <p>What you changed on “{(open ?? draft)?.bench.name}” since it was last saved would be lost.</p>
    </Ask>
  )
}
