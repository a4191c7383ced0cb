import type { RunDesk } from './guide/run-desk.ts'
import { liveWords } from './guide/run-desk.ts'
import { useRun } from './guide/use-run.ts'
import type { WriteDesk } from './program/desk.ts'
import { writingWords } from './program/live-words.ts'
import { useWrites } from './program/use-desk.ts'
import './live.css'

interface LiveBandProps {
  readonly guide: RunDesk
  readonly program: WriteDesk
}

/** Stands at the top of the window, whatever view is shown, for as long as something real is written. */
export function LiveBand({ guide, program }: LiveBandProps) {
  const all = [liveWords(useRun(guide)), writingWords(useWrites(program))]
  const words = all.filter(one => one !== undefined)
  return (
    <div className="live-band" role="status">
      {words.length > 0 && (
        <p>
          <strong>Live:</strong> {words.join('; ')}
        </p>
      )}
    </div>
  )
}
