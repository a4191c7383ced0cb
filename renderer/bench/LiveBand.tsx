import type { RunDesk } from './guide/run-desk.ts'
import { liveWords } from './guide/run-desk.ts'
import { useRun } from './guide/use-run.ts'
import './live.css'

/** Stands at the top of the window, whatever view is shown, for as long as something real is written. */
export function LiveBand({ guide }: { readonly guide: RunDesk }) {
  const words = liveWords(useRun(guide))
  return (
    <div className="live-band" role="status">
      {words !== undefined && (
        <p>
          <strong>Live:</strong> {words}
        </p>
      )}
    </div>
  )
}
