import { useState } from 'react'
import type { SymptomId } from '../../../shared/diagnose/report.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import type { Runbook } from '../../../shared/runbook/schema.ts'
import { looksOf, symptomNow } from '../../../shared/runbook/state.ts'
import type { AppClient } from '../../api/client.ts'
import type { Looks } from '../../diagnose/looks.ts'
import { Button } from '../../ui/Button.tsx'
import { ProblemList } from '../../ui/Notice.tsx'
import { Finished } from './Finished.tsx'
import { Paper } from './Paper.tsx'
import type { ActiveRun, Advice, RunDesk } from './run-desk.ts'
import { StepCard } from './StepCard.tsx'
import { Stopped } from './Stopped.tsx'
import { Trouble } from './Trouble.tsx'
import { useExperience } from './use-experience.ts'
import { useRun, useWakeLock } from './use-run.ts'
import { routeWords } from './words.ts'
import './guide.css'
import './paper.css'

/** What a run asks of the rest of the window. */
export interface RunHelp {
  readonly bench: Bench | undefined
  readonly desk: RunDesk
  readonly onChangeBench: (label: string, next: Bench) => void
  /** To the Firmware view, where an image is put on a card. */
  readonly onStage: () => void
  /** To the Diagnose view with what is known; undefined where the receiver is on no open bench. */
  readonly onDiagnose: (runbook: Runbook, symptom: SymptomId, looks: Looks) => void
  /** What Diagnose advises for this trouble of the receiver, where it was asked and advises a repair. */
  readonly adviceOf: (receiverId: string, symptom: SymptomId | undefined) => Advice | undefined
  readonly client: Pick<AppClient, 'call'>
}

/** One large step at a time, for somebody with both hands full. */
export function GuidedRun(props: RunHelp & { readonly run: ActiveRun }) {
  const { desk, run, bench } = props
  const { problems, isOver } = useRun(desk)
  const { state, runbook } = run
  const { route: way, receiver } = runbook
  const about = { kind: 'guided', benchName: run.benchName, way, typeId: receiver.typeId } as const
  const experience = useExperience(props.client, about, `${run.id} ${isOver}`)
  const [hasTone, setTone] = useState(false)
  useWakeLock(state.at !== 'ended')
  const isOnBench = bench?.receivers.some(r => r.id === runbook.receiver.id) ?? false
  const symptom = symptomNow(state)
  const diagnose =
    isOnBench && symptom !== undefined
      ? () => {
          desk.say({ said: 'diagnose' })
          props.onDiagnose(runbook, symptom, looksOf(state.visits))
        }
      : undefined
  // In trouble it is about what was said to be seen; at a step, about what there is to ask.
  const asked = state.at === 'trouble' ? state.other?.symptom : symptom
  const advice = state.wasDiagnosed ? props.adviceOf(receiver.id, asked) : undefined
  return (
    <div className={state.at === 'step' ? 'gd gd-at-step' : 'gd'}>
      <RunHead run={run} desk={desk} />
      {problems.length > 0 && (
        <div className="gd-problems">
          <p>Something is not in the logbook yet. The run itself goes on.</p>
          <ProblemList problems={problems} />
          <Button onClick={() => desk.sendAgain()}>Write it down now</Button>
        </div>
      )}
      {state.at === 'step' && (
        <StepCard
          key={`${state.step.id} ${state.enteredAtMs}`}
          desk={desk}
          run={run}
          experience={experience}
          hasTone={hasTone}
          onTone={setTone}
          onDiagnose={diagnose}
          onStage={isOnBench ? props.onStage : undefined}
          advice={advice}
        />
      )}
      {state.at === 'trouble' && (
        <Trouble desk={desk} run={run} onDiagnose={diagnose} isOnBench={isOnBench} advice={advice} />
      )}
      {state.at === 'stopped' && <Stopped desk={desk} run={run} />}
      {state.at === 'ended' && <Finished {...props} experience={experience} />}
      <Paper run={run} />
    </div>
  )
}

interface RunHeadProps {
  readonly run: ActiveRun
  readonly desk: RunDesk
}

function RunHead({ run, desk }: RunHeadProps) {
  const { state, runbook } = run
  return (
    <header className="gd-head">
      <div className="gd-head-words">
        <h1>Guided run</h1>
        <p>
          {runbook.receiver.nickname}, {routeWords[runbook.route]}: {runbook.image.name}
        </p>
      </div>
      {(state.at === 'step' || state.at === 'trouble') && (
        <Button onClick={() => desk.say({ said: 'stop' })}>Stop the run</Button>
      )}
      <div className="gd-progress">
        <progress
          aria-label="Steps of the run"
          value={state.at === 'ended' ? state.of : state.number - 1}
          max={state.of}
        />
      </div>
    </header>
  )
}
