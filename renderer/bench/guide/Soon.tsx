import type { ReactNode } from 'react'
import { expectedMs, type Step } from '../../../shared/runbook/schema.ts'
import { Big } from './Big.tsx'
import { useKeys } from './keys.ts'
import { useFocusedHeading } from './StepCard.tsx'
import { StepText } from './StepText.tsx'
import { sayTime } from './words.ts'

interface SoonProps {
  readonly step: Step
  /** How long the step had been shown when it was answered, in milliseconds. */
  readonly afterMs: number
  /** The time that is left, still counted down. */
  readonly countdown: ReactNode
  readonly onSaw: () => void
  readonly onBack: () => void
}

/**
 * "Saw it" long before it can be over: asked once more, by the same one key. A radio that is taken for done while it
 * writes is switched off in the middle; one that really was quicker is believed.
 */
export function Soon({ step, afterMs, countdown, onSaw, onBack }: SoonProps) {
  const heading = useFocusedHeading('soon')
  useKeys({ space: onSaw, b: onBack, escape: onBack }, 'soon')
  return (
    <article className="gd-card" aria-labelledby="gd-step">
      <StepText>
        <p className="gd-part">That was quick</p>
        <h2 id="gd-step" ref={heading} tabIndex={-1}>
          It should take about {sayTime(expectedMs(step))}, and {sayTime(afterMs)} had gone by. Did you really
          see it?
        </h2>
        <p className="gd-expect">
          <span>You should see</span> {step.expect}
        </p>
        {countdown}
      </StepText>
      <div className="gd-acts">
        <Big hotkey="Space" onClick={onSaw}>
          Yes, I saw it
        </Big>
        <Big hotkey="B" isPrimary onClick={onBack}>
          Not yet
        </Big>
      </div>
    </article>
  )
}
