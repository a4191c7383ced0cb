import type { RunbookStep } from '../../../shared/rehearse/report.ts'
import { leftBy, leftWords } from '../../../shared/runbook/left.ts'
import { Big } from './Big.tsx'
import { Caution } from './Caution.tsx'
import { useKeys } from './keys.ts'
import type { ActiveRun, RunDesk } from './run-desk.ts'
import { useFocusedHeading } from './StepCard.tsx'
import { StepText } from './StepText.tsx'

/** The run is stopped: what the receiver is in now, and what to do about it. */
export function Stopped({ desk, run }: { readonly desk: RunDesk; readonly run: ActiveRun }) {
  const heading = useFocusedHeading('stopped')
  const goOn = () => desk.say({ said: 'resume' })
  useKeys({ space: goOn }, 'stopped')
  return (
    <article className="gd-card" aria-labelledby="gd-step">
      <StepText>
        <p className="gd-part">
          Stopped at step {run.state.number} of {run.state.of}
        </p>
        <Aftermath run={run} heading={heading} />
      </StepText>
      <div className="gd-acts">
        <Big hotkey="Space" isPrimary onClick={goOn}>
          Go on with the run
        </Big>
        <Big onClick={() => desk.say({ said: 'end' })}>End it here</Big>
        <Big isQuiet onClick={() => window.print()}>
          Print
        </Big>
      </div>
    </article>
  )
}

interface AftermathProps {
  readonly run: ActiveRun
  readonly heading: React.RefObject<HTMLHeadingElement | null>
}

/** What the receiver is in, and the steps from there. */
export function Aftermath({ run, heading }: AftermathProps) {
  const left = leftBy(run.runbook, run.state)
  return (
    <>
      <h2 id="gd-step" ref={heading} tabIndex={-1}>
        {left.isChecked
          ? `${run.runbook.receiver.nickname} is updated, and everything has been checked.`
          : leftWords[left.receiver]}
      </h2>
      {left.steps.length > 0 && (
        <section className="gd-way-back">
          <h3>{left.receiver === 'runs-new' ? 'Still to be done before it flies' : 'What to do now'}</h3>
          <Steps steps={left.steps} />
        </section>
      )}
      {left.lastResort.length > 0 && (
        <details className="gd-way-back">
          <summary>If it stays dark: by the loader in its chip</summary>
          <Steps steps={left.lastResort} />
        </details>
      )}
    </>
  )
}

const Steps = ({ steps }: { readonly steps: readonly RunbookStep[] }) => (
  <ol>
    {steps.map(({ text, expect, caution }) => (
      <li key={text}>
        <p>{text}</p>
        {caution !== undefined && <Caution>{caution}</Caution>}
        {expect !== undefined && <p className="gd-soft">Then: {expect}</p>}
      </li>
    ))}
  </ol>
)
