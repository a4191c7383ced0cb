import { useState } from 'react'
import type { CautionAnswers } from '../../../shared/bench-run/check.ts'
import type { WritePlanInput } from '../../../shared/bench-run/plan.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../../shared/model/gear.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { Button } from '../../ui/Button.tsx'
import { ProblemList, problemsOf } from '../../ui/Notice.tsx'
import { Cautions } from './Cautions.tsx'
import type { WriteCheck } from './client.ts'
import type { WriteDesk } from './desk.ts'
import { type Draft, portsOf } from './draft.ts'
import { Preconditions } from './Preconditions.tsx'
import type { StepId } from './steps.ts'
import type { PortsDesk } from './use-ports.ts'
import { portName } from './words.ts'

interface WriteStepProps {
  readonly desk: WriteDesk
  readonly draft: Draft
  readonly plan: WritePlanInput | undefined
  readonly check: WriteCheck | undefined
  readonly bench: Bench
  readonly receiver: ReceiverUnit
  readonly ports: PortsDesk
  readonly answers: CautionAnswers
  /** A write goes through one of these ports already. */
  readonly isBusyHere: boolean
  /** What the wiring leaves to hands and eyes. */
  readonly lookOut: readonly string[]
  readonly onAnswer: (answers: CautionAnswers) => void
  readonly onGo: (step: StepId) => void
}

/** The last look at the table, then the one button that touches the receiver. */
export function WriteStep(props: WriteStepProps) {
  const { desk, draft, plan, check, ports, receiver, answers, isBusyHere, onAnswer, onGo } = props
  const [isBusy, setBusy] = useState(false)
  const [problems, setProblems] = useState<readonly Problem[]>([])
  if (plan === undefined || check === undefined) return <p>The steps before this one come first.</p>
  const missing = check.preconditions.filter(p => p.holds !== 'yes' && p.id !== 'cautions')
  const open = check.questions.filter(({ id }) => answers[id] === undefined).length
  const isBatch = draft.mode === 'batch'
  const go = async () => {
    setBusy(true)
    setProblems([])
    try {
      const withAnswers = { ...draft, cautions: { key: check.key, answers } }
      await (isBatch ? desk.startBatch(plan, withAnswers) : desk.start(plan, withAnswers))
    } catch (error) {
      setProblems(problemsOf(error))
    } finally {
      setBusy(false)
    }
  }
  const names = portsOf(draft).map(place => {
    const port = ports.ports?.find(one => one.place === place)
    return port === undefined ? place : portName(port)
  })
  return (
    <>
      {missing.length > 0 ? (
        <>
          <p>Before the table is looked at, these must hold:</p>
          <Preconditions list={missing} here="look" onGo={onGo} />
        </>
      ) : (
        <Cautions
          isBatch={isBatch}
          lookOut={props.lookOut}
          questions={check.questions}
          answers={answers}
          precondition={check.preconditions.find(p => p.id === 'cautions')}
          onAnswer={onAnswer}
        />
      )}
      {problems.length > 0 && <ProblemList problems={problems} onClose={() => setProblems([])} />}
      {missing.length === 0 && open > 0 && (
        <p className="pg-soft">
          {open === 1 ? 'One question is' : `${open} questions are`} still to be answered.
        </p>
      )}
      {isBusyHere && <p>A write goes through this port. The next can begin when it has ended.</p>}
      <div className="app-buttons">
        <Button
          kind="primary"
          className="pg-write"
          disabled={!check.ready || isBusy || isBusyHere}
          onClick={go}
        >
          {isBatch
            ? `Start the batch through ${names.length === 1 ? names[0] : `${names.length} ports`}`
            : `Write to ${receiver.nickname} through ${names[0]}`}
        </Button>
      </div>
    </>
  )
}
