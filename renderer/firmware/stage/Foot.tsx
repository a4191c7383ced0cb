import { Button } from '../../ui/Button.tsx'
import type { Missing } from './settled.ts'
import type { StagingPhase } from './use-staging.ts'

/** The first control there that can be used, in sight and with the focus. */
function goTo(need: Missing['need']): void {
  const control = document.querySelector<HTMLElement>(`[data-need='${need}'] input:not(:disabled)`)
  control?.scrollIntoView({ block: 'center' })
  control?.focus()
}

interface FootProps {
  readonly phase: StagingPhase
  readonly missing: Missing | undefined
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
        <Button onClick={onBack}>Back</Button>
        <Button kind="primary" type="submit">
          Stage again
        </Button>
      </>
    )
  return (
    <>
      <p className="ui-spring fw-soft" role="status">
        {missing?.text}
      </p>
      {missing?.need !== undefined && (
        <Button kind="quiet" onClick={() => goTo(missing.need)}>
          Take me there
        </Button>
      )}
      <Button kind="quiet" onClick={onClose}>
        Cancel
      </Button>
      <Button kind="primary" type="submit" disabled={missing !== undefined}>
        Put it on the card
      </Button>
    </>
  )
}
