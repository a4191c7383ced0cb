import type { AppClient } from '../api/client.ts'
import { liveWords, type RunDesk } from '../bench/guide/run-desk.ts'
import { useRun } from '../bench/guide/use-run.ts'
import type { WriteDesk } from '../bench/program/desk.ts'
import { writingWords } from '../bench/program/live-words.ts'
import { useWrites } from '../bench/program/use-desk.ts'
import { hasUnsaved, type OpenBench } from '../state/bench-state.ts'
import { Button } from '../ui/Button.tsx'
import type { Said } from './use-said.ts'
import { useWriting } from './use-writing.ts'

export interface TopBarProps {
  readonly client: Pick<AppClient, 'on'>
  readonly guide: RunDesk
  readonly program: WriteDesk
  readonly open: OpenBench | undefined
  readonly said: Said
  readonly onUndo: () => void
  readonly onRedo: () => void
  readonly onSave: () => void
  readonly onSaveAs: () => void
  readonly onExport: () => void
}

function savedWords(open: OpenBench): string {
  if (open.file === undefined) return hasUnsaved(open) ? 'not saved yet' : 'the demo, not saved as a file'
  return hasUnsaved(open) ? `unsaved changes in ${open.file.fileName}` : `saved in ${open.file.fileName}`
}

/** Says which bench, which receiver, and whether anything is live. */
export function TopBar({
  client,
  guide,
  program,
  open,
  said,
  onUndo,
  onRedo,
  onSave,
  onSaveAs,
  onExport,
}: TopBarProps) {
  const receiver = open?.bench.receivers.find(r => r.id === open.receiverId)
  const undone = open?.past.at(-1)?.label
  const redone = open?.future[0]?.label
  return (
    <header className="app-top">
      <span className="app-name">Preflash</span>
      <div className="app-bench">
        {open ? (
          <>
            <strong title={open.bench.name}>{open.bench.name}</strong>
            <span className="app-said" role="status">
              {said.text && (
                <span key={said.turn} title={said.text}>
                  {said.text}
                </span>
              )}
            </span>
            <span className="app-state" title={savedWords(open)}>
              {savedWords(open)}
            </span>
            {receiver && (
              <span className="app-state" title={receiver.nickname}>
                · Receiver: {receiver.nickname}
              </span>
            )}
          </>
        ) : (
          <span>No bench is open</span>
        )}
      </div>
      {open && (
        <>
          <Button
            kind="quiet"
            onClick={onUndo}
            disabled={undone === undefined}
            title={undone && `Undo: ${undone} (Ctrl+Z)`}
          >
            Undo
          </Button>
          <Button
            kind="quiet"
            className="app-more"
            onClick={onRedo}
            disabled={redone === undefined}
            title={redone && `Redo: ${redone} (Ctrl+Shift+Z)`}
          >
            Redo
          </Button>
          <Button onClick={onSave} disabled={open.file !== undefined && !hasUnsaved(open)} title="Ctrl+S">
            Save
          </Button>
          <Button kind="quiet" className="app-more" onClick={onSaveAs}>
            Save as…
          </Button>
          <Button kind="quiet" className="app-more" onClick={onExport}>
            Export
          </Button>
        </>
      )}
      <Live client={client} guide={guide} program={program} />
    </header>
  )
}

/** Whether anything real is being written right now, and where. */
function Live({ client, guide, program }: Pick<TopBarProps, 'client' | 'guide' | 'program'>) {
  const places = useWriting(client)
  const runs = useRun(guide)
  const isRunLive = liveWords(runs) !== undefined
  // Between two writes a guided run is about real devices all the same.
  const isReal = runs.run !== undefined && runs.run.state.at !== 'ended'
  const isWriteLive = writingWords(useWrites(program)) !== undefined
  if (places.length > 0)
    return (
      <span className="app-live app-live-now" role="status" title={places.join(', ')}>
        <strong>Live</strong>: writing to {places.join(', ')}
      </span>
    )
  // The band below says what.
  if (isRunLive || isWriteLive) return <strong className="app-live app-live-now">Live</strong>
  return (
    <span className="app-live">
      Nothing live
      <span className="app-live-more">
        {isReal ? ': nothing is being written' : ': simulated devices only'}
      </span>
    </span>
  )
}
