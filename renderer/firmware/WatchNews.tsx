import type { WatchState } from '../../shared/api/watch.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import { Button } from '../ui/Button.tsx'
import { StatusMark } from '../ui/StatusMark.tsx'

const MOST_SHOWN = 5

export interface WatchNewsProps {
  readonly watch: WatchState
  readonly onSeen: () => void
  readonly onWatch: () => void
}

/** What the watched folder brought since somebody last looked; quiet, and gone once it is read. */
export function WatchNews({ watch, onSeen, onWatch }: WatchNewsProps) {
  const { state, folder, taken, failed } = watch
  if (state === 'off' || (state !== 'missing' && taken.length === 0 && failed.length === 0)) return null
  const said = [
    taken.length === 1 && `${taken[0]} was taken in.`,
    taken.length > 1 && `${taken.length} images were taken in.`,
    failed.length > 0 && `${failed.length} ${failed.length === 1 ? 'file' : 'files'} could not be taken in.`,
  ].filter(Boolean)
  return (
    <section className="fw-news" aria-label="From the watched folder">
      <div role="status">
        <p>
          {state === 'missing' ? (
            <StatusMark status="caution">watched folder not there</StatusMark>
          ) : (
            <strong>From the watched folder:</strong>
          )}{' '}
          {state === 'missing' && `${folder}. It is watched again as soon as it is back. `}
          {said.join(' ')}
        </p>
        {failed.slice(0, MOST_SHOWN).map(({ fileName, problems }) => (
          <p key={fileName} className="fw-small">
            {problems.map(problem => sayProblem({ file: fileName, ...problem })).join(' ')}
          </p>
        ))}
        {failed.length > MOST_SHOWN && <p className="fw-small">And {failed.length - MOST_SHOWN} more.</p>}
      </div>
      {state === 'missing' ? (
        <Button kind="quiet" onClick={onWatch}>
          Change…
        </Button>
      ) : (
        <Button kind="quiet" onClick={onSeen}>
          Close
        </Button>
      )}
    </section>
  )
}
