import { outcomeWords } from '../../../shared/procedure/effects.ts'
import type { Recovery } from '../../../shared/rehearse/report.ts'
import { sayDuration } from './words.ts'

/** The way back, step by step, and how it went when the simulator walked it. */
export function Runbook({ recovery }: { recovery: Recovery }) {
  const { steps, rehearsed } = recovery
  const minutes = steps.reduce((sum, step) => sum + step.minutes, 0)
  return (
    <section className="rh-runbook" aria-label="Recovery runbook">
      <h2>Recovery, step by step</h2>
      <p className="rh-soft">
        {steps.length} steps, about {minutes} minutes.
      </p>
      <ol>
        {steps.map((step, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: the steps of a runbook never change places
          <li key={i}>
            {step.caution === undefined ? null : (
              <p className="rh-caution">
                <strong>
                  <span aria-hidden="true">▲</span> Caution.
                </strong>{' '}
                {step.caution}
              </p>
            )}
            <p>{step.text}</p>
            {step.expect === undefined ? null : <p className="rh-soft">Then: {step.expect}</p>}
          </li>
        ))}
      </ol>
      <p className="rh-rehearsed">
        The simulator carried these steps out on what the session left behind. It ended so:{' '}
        <strong>{outcomeWords[rehearsed.outcome]}</strong> That took {sayDuration(rehearsed.simulatedMs)} of
        simulated time
        {rehearsed.standIn ? ', with an image built here in place of one that the bench does not have' : ''}.
      </p>
    </section>
  )
}
