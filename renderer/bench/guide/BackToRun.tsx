import type { ReactNode } from 'react'
import { Button } from '../../ui/Button.tsx'
import type { RunDesk } from './run-desk.ts'
import { useRun } from './use-run.ts'
import './guide.css'

interface BackToRunProps {
  readonly guide: RunDesk
  readonly onBack: () => void
  readonly children: ReactNode
}

/** Above a view that somebody was sent to from a run: the way back to the same step. */
export function BackToRun({ guide, onBack, children }: BackToRunProps) {
  const { run } = useRun(guide)
  if (run === undefined || run.state.at === 'ended') return children
  const { state, runbook } = run
  return (
    <div className="gd-back-frame">
      <section className="gd-back" aria-label="The guided run">
        <p>
          The guided run of {runbook.receiver.nickname} waits at step {state.number} of {state.of}.
        </p>
        <Button kind="primary" onClick={onBack}>
          Back to the run
        </Button>
      </section>
      <div className="gd-back-view">{children}</div>
    </div>
  )
}
