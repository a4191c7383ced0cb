import { Button } from '../../ui/Button.tsx'
import type { ActiveRun } from './run-desk.ts'
import { routeWords } from './words.ts'
import './left.css'

/** A run that was left open: the first thing to be told of, for a receiver may be waiting for it. */
export function LeftRun({ run, onGoOn }: { readonly run: ActiveRun; readonly onGoOn: () => void }) {
  const { runbook, state } = run
  return (
    <section className="gd-left" aria-label="A run that was left open">
      <div>
        <h2>A guided run was left open</h2>
        <p>
          {runbook.receiver.nickname}, {routeWords[runbook.route]}, begun{' '}
          {new Date(run.beganAtMs).toLocaleString()}. It stands at step {state.number} of {state.of}:{' '}
          {state.step.text}
        </p>
      </div>
      <Button kind="primary" onClick={onGoOn}>
        Go on with it
      </Button>
    </section>
  )
}
