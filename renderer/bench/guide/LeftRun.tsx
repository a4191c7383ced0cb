import { Button } from '../../ui/Button.tsx'
import type { ActiveRun } from './run-desk.ts'
import { routeWords } from './words.ts'
import './left.css'

interface LeftRunProps {
  readonly run: ActiveRun
  readonly onGoOn: () => void
  readonly onStop: () => void
}

/** A run that was left open: the first thing to be told of, for a receiver may be waiting for it. */
export function LeftRun({ run, onGoOn, onStop }: LeftRunProps) {
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
      <div className="app-buttons">
        <Button kind="primary" onClick={onGoOn}>
          Go on with it
        </Button>
        <Button onClick={onStop}>End it</Button>
      </div>
    </section>
  )
}
