import { Button } from '../../ui/Button.tsx'
import type { StagingPhase } from './use-staging.ts'

interface FootProps {
  readonly phase: StagingPhase
  readonly missing: string | undefined
  readonly onClose: () => void
  readonly onStop: () => void
  readonly onBack: () => void
  readonly onLook: () => void
}

/** What can be done now; while something is missing, what. */
export function Foot({ phase, missing, onClose, onStop, onBack, onLook }: FootProps) {
  if (phase.is === 'running')
    return (
      <Button onClick={onStop} disabled={phase.stopping}>
        {phase.stopping ? 'Stopping…' : 'Stop'}
      </Button>
    )
  if (phase.is === 'done')
    return (
      <>
        <Button onClick={onLook}>What is on the card?</Button>
        <Button kind="primary" onClick={onClose}>
          Done
        </Button>
      </>
    )
  if (phase.is === 'failed')
    return (
      <>
        <Button kind="quiet" onClick={onClose}>
          Close
        </Button>
        <Button onClick={onBack}>Choose otherwise</Button>
        <Button kind="primary" type="submit">
          Stage again
        </Button>
      </>
    )
  return (
    <>
      <p className="ui-spring fw-soft" role="status">
        {missing}
      </p>
      <Button kind="quiet" onClick={onClose}>
        Cancel
      </Button>
      <Button kind="primary" type="submit" disabled={missing !== undefined}>
        Put it on the card
      </Button>
    </>
  )
}
