import type { CardProgress } from '../../../shared/api/card.ts'
import { doingWords, progressWords, type Sample } from './progress.ts'

interface RunningProps {
  readonly progress: CardProgress | undefined
  readonly samples: readonly Sample[]
  readonly stopping: boolean
}

/** How far it is. */
export function Running({ progress, samples, stopping }: RunningProps) {
  const doing = progress === undefined ? 'Looking at the card' : doingWords[progress.doing]
  return (
    <div className="st-running">
      <p role="status">
        <strong>{stopping ? 'Stopping; what is half written is removed' : doing}…</strong>
      </p>
      <progress aria-label="Written and read back" value={progress?.done ?? 0} max={progress?.total ?? 1} />
      <p className="fw-soft">{progress === undefined ? '\u00a0' : progressWords(progress, samples)}</p>
      <p>
        Leave the card and the cable alone until it is done. The old file stays until the new one is proven.
      </p>
    </div>
  )
}
