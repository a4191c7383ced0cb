import { useCallback, useEffect, useState } from 'react'
import type { AppContract } from '../../shared/api/contract.ts'
import type { ReplyOf } from '../../shared/api/define.ts'
import type { WatchState } from '../../shared/api/watch.ts'
import type { Problem } from '../../shared/model/problem.ts'
import { Button } from '../ui/Button.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import { TextField } from '../ui/Field.tsx'
import { problemsOf } from '../ui/Notice.tsx'
import { StatusMark } from '../ui/StatusMark.tsx'
import { Problems } from './Problems.tsx'
import type { LibraryClient } from './use-library.ts'

export interface WatchDialogProps {
  readonly client: LibraryClient
  readonly watch: WatchState | undefined
  readonly onChange: (state: WatchState) => void
  readonly onClose: () => void
}

type Listing = ReplyOf<AppContract, 'watch.folders'>

/** Chooses the folder whose new images are taken in by themselves. */
export function WatchDialog({ client, watch, onChange, onClose }: WatchDialogProps) {
  const [listing, setListing] = useState<Listing>()
  const [typed, setTyped] = useState('')
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const go = useCallback(
    async (path: string | undefined) => {
      try {
        const listed = await client.call('watch.folders', path === undefined ? {} : { path })
        setListing(listed)
        setTyped(listed.path)
        setProblems([])
      } catch (error) {
        setProblems(problemsOf(error))
      }
    },
    [client],
  )
  const first = watch?.state === 'watching' ? (watch.folder ?? undefined) : undefined
  // Only where it starts: a change of the state must not lead away from where somebody is looking.
  const [start] = useState(first)
  useEffect(() => void go(start), [go, start])
  const set = async (folder: string | null) => {
    try {
      onChange(await client.call('watch.set', { folder }))
      onClose()
    } catch (error) {
      setProblems(problemsOf(error))
    }
  }
  const path = listing?.path ?? ''
  const isThere = typed.trim() === '' || typed.trim() === path
  return (
    <Dialog
      title="Watched folder"
      lead="New images in this folder, and in the folders in it, are taken into the library by themselves. The files in it are only read, never changed or deleted."
      wide
      onClose={onClose}
      onSubmit={() => void (isThere ? set(path) : go(typed.trim()))}
      foot={
        <>
          <Button kind="quiet" onClick={onClose}>
            Cancel
          </Button>
          {watch?.folder != null && <Button onClick={() => void set(null)}>Stop watching</Button>}
          <Button
            kind="primary"
            disabled={listing === undefined || (isThere && listing.problem !== undefined)}
            onClick={() => void set(isThere ? path : typed.trim())}
          >
            Watch this folder
          </Button>
        </>
      }
    >
      <NowWatched watch={watch} />
      <Problems problems={problems} />
      <div className="fw-path">
        <TextField label="Folder" value={typed} onChange={setTyped} />
        <Button type="submit" disabled={isThere}>
          Go there
        </Button>
      </div>
      {listing && <Folders listing={listing} onGo={to => void go(to)} />}
    </Dialog>
  )
}

function NowWatched({ watch }: { readonly watch: WatchState | undefined }) {
  if (watch === undefined || watch.folder === null)
    return <p className="fw-soft">No folder is watched now.</p>
  return (
    <p>
      {watch.state === 'missing' ? (
        <StatusMark status="caution">not there now</StatusMark>
      ) : (
        <StatusMark status="good">watched now</StatusMark>
      )}{' '}
      {watch.folder}
    </p>
  )
}

/** The folders in one, and the way up. */
function Folders({ listing, onGo }: { readonly listing: Listing; readonly onGo: (path: string) => void }) {
  const { path, parent, folders, more, files, problem } = listing
  const inside = (name: string) => `${path.replace(/[/\\]$/, '')}/${name}`
  return (
    <>
      <p className="fw-small fw-soft" role="status">
        {problem === undefined
          ? `${files.toLocaleString('en')} ${files === 1 ? 'file' : 'files'} in it.`
          : `${problem.message} ${problem.remedy ?? ''}`}
        {more > 0 && ` ${more.toLocaleString('en')} more folders are not shown; type the path.`}
      </p>
      <ul className="fw-folders" aria-label={`Folders in ${path}`}>
        {parent !== null && (
          <li>
            <button type="button" className="fw-link" onClick={() => onGo(parent)}>
              Up to {parent}
            </button>
          </li>
        )}
        {folders.map(name => (
          <li key={name}>
            <button type="button" className="fw-link" onClick={() => onGo(inside(name))}>
              {name}
            </button>
          </li>
        ))}
        {folders.length === 0 && <li className="fw-soft">There are no folders in it.</li>}
      </ul>
    </>
  )
}
