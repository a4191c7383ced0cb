import { leftWords, receiverLeft } from '../../../shared/runbook/left.ts'
import { Big } from './Big.tsx'
import { useKeys } from './keys.ts'
import type { ActiveRun, Advice, RunDesk } from './run-desk.ts'
import { useFocusedHeading } from './StepCard.tsx'
import { StepText } from './StepText.tsx'
import { repairLabel } from './words.ts'

interface TroubleProps {
  readonly desk: RunDesk
  readonly run: ActiveRun
  readonly onDiagnose: (() => void) | undefined
  readonly isOnBench: boolean
  /** What Diagnose advises, where it was asked about this. */
  readonly advice: Advice | undefined
}

/** Something else was seen, and no second attempt is due: find the reason, put it right, go on. */
export function Trouble({ desk, run, onDiagnose, isOnBench, advice }: TroubleProps) {
  const { state, runbook } = run
  const { other, step } = state
  const heading = useFocusedHeading(`trouble ${step.id}`)
  const again = () => desk.again(advice)
  const goBack = () => desk.say({ said: 'back' })
  const stop = () => desk.say({ said: 'stop' })
  useKeys(
    {
      d: onDiagnose,
      space: onDiagnose && !state.wasDiagnosed ? onDiagnose : again,
      a: again,
      b: goBack,
      s: stop,
    },
    `trouble ${step.id}`,
  )
  const next = runbook.steps.find(one => one.id === step.again) ?? step
  const isFirst = onDiagnose !== undefined && !state.wasDiagnosed
  return (
    <article className="gd-card" aria-labelledby="gd-step">
      <StepText>
        <p className="gd-part">Something else was seen</p>
        <h2 id="gd-step" ref={heading} tabIndex={-1}>
          {other?.text}
        </h2>
        <p className="gd-expect">
          <span>It should be</span> {step.expect}
        </p>
        <p className="gd-expect">
          <span>The receiver now</span> {leftWords[receiverLeft(state)]}
        </p>
        {advice !== undefined && (
          <p className="gd-expect">
            <span>Diagnose advises</span> {repairLabel(advice.causes)}
          </p>
        )}
        <p className="gd-soft">
          {advice !== undefined
            ? 'Go on once that is done. When it is as it should be then, you are asked whether it was that.'
            : onDiagnose !== undefined
              ? 'What you have seen so far is handed over to the diagnosis. Put right what it finds, and come back to this very place.'
              : other?.symptom !== undefined && !isOnBench
                ? 'For a diagnosis, open the bench that this receiver is on.'
                : 'Put it right before you go on. If you cannot, stop here: nothing is gained by going on.'}
        </p>
      </StepText>
      <div className="gd-acts">
        {onDiagnose && (
          <Big hotkey={isFirst ? 'Space' : 'D'} isPrimary={isFirst} onClick={onDiagnose}>
            Find the reason
          </Big>
        )}
        <Big hotkey={isFirst ? 'A' : 'Space'} isPrimary={!isFirst} onClick={again}>
          {next.id === step.id ? 'Put right: do this step again' : 'Put right: start the update again'}
        </Big>
        <Big hotkey="S" onClick={stop}>
          Stop the run
        </Big>
        <Big hotkey="B" isQuiet onClick={goBack}>
          Back
        </Big>
      </div>
    </article>
  )
}
