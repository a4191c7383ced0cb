import { useId, useState } from 'react'
import type { Experience } from '../../../shared/experience/experience.ts'
import { factsOfRun } from '../../../shared/experience/run-facts.ts'
import { isKnown, UNKNOWN, versionSchema } from '../../../shared/model/units.ts'
import { benchAfterRun, type SeenAfter, seenAfter } from '../../../shared/runbook/after-run.ts'
import { receiverLeft } from '../../../shared/runbook/left.ts'
import { Button } from '../../ui/Button.tsx'
import { Notice } from '../../ui/Notice.tsx'
import { Big } from './Big.tsx'
import { firstWords, openWords, RUNS, usualWriting } from './experience-words.ts'
import type { RunHelp } from './GuidedRun.tsx'
import { useKeys } from './keys.ts'
import { RepairAsked } from './RepairAsked.tsx'
import type { ActiveRun } from './run-desk.ts'
import { settleKeys, useFocusedHeading } from './StepCard.tsx'
import { StepText } from './StepText.tsx'
import { Aftermath } from './Stopped.tsx'
import { useRun } from './use-run.ts'
import { sayTime } from './words.ts'

/** The run has ended: what became of the receiver, and what the bench is to say of it. */
export function Finished(props: RunHelp & { readonly run: ActiveRun; readonly experience: Experience }) {
  const { desk, run, experience } = props
  const heading = useFocusedHeading('finished')
  const { problems, isOver, repair } = useRun(desk)
  const isLogged = problems.length === 0
  useKeys(settleKeys(desk, repair !== undefined), 'finished')
  return (
    <article className="gd-card" aria-labelledby="gd-step">
      <StepText>
        <p className="gd-part">
          {isLogged ? 'The run has ended and stands in the logbook' : 'The run has ended'}
        </p>
        <Aftermath run={run} heading={heading} />
        <RepairAsked desk={desk} />
        {isOver && <Learned run={run} experience={experience} />}
        {receiverLeft(run.state) === 'runs-new' && <OntoTheBench {...props} />}
      </StepText>
      <div className="gd-acts">
        <Big onClick={() => desk.close()}>Close the run</Big>
        <Big onClick={() => window.print()}>Print</Big>
        <Big onClick={() => void desk.exportRun()}>Export…</Big>
      </div>
    </article>
  )
}

interface LearnedProps {
  readonly run: ActiveRun
  readonly experience: Experience
}

/** What this run adds to what is known of the bench. */
function Learned({ run: { runbook, state }, experience }: LearnedProps) {
  const facts = factsOfRun(runbook, state)
  const own = usualWriting({ times: asUsual(facts.times) })
  const usual = usualWriting(experience)
  const said = [
    ...(own === undefined || usual === undefined || usual.runs < 2
      ? []
      : [`The writing took ${sayTime(own.ms)}; on your bench it is usually ${sayTime(usual.ms)}.`]),
    ...(facts.first === null || experience.first === null
      ? []
      : [`${firstWords(experience, RUNS)} ${openWords(experience)}`]),
    ...(facts.secondTry === null
      ? []
      : ['That the second attempt went through by itself counts in the odds of the next diagnosis.']),
  ]
  if (said.length === 0) return null
  return (
    <section className="gd-learned">
      <h3>Learned for the next time</h3>
      {said.map(text => (
        <p key={text}>{text}</p>
      ))}
    </section>
  )
}

const asUsual = (times: Readonly<Record<string, number>>): Experience['times'] =>
  Object.fromEntries(Object.entries(times).map(([id, ms]) => [id, { ms, runs: 1, isOfType: true }]))

/** What was seen goes onto the bench with the person's word for it, and can be undone. */
function OntoTheBench({ bench, run, onChangeBench }: RunHelp & { readonly run: ActiveRun }) {
  const { runbook, state } = run
  const unit = bench?.receivers.find(r => r.id === runbook.receiver.id)
  const first = seenAfter(runbook, state, unit?.boundTo !== undefined)
  const [version, setVersion] = useState(isKnown(first.firmware) ? first.firmware : '')
  const [isBound, setBound] = useState(first.isBound)
  const [done, setDone] = useState<SeenAfter>()
  const id = useId()
  if (bench === undefined || unit === undefined)
    return (
      <p className="gd-expect">
        <span>Onto the bench</span>
        {run.benchName === null ? 'Open the bench of this receiver' : `Open the bench “${run.benchName}”`},
        and come back here: the run waits, and what you saw goes onto it.
      </p>
    )
  // Undo may have taken it back since.
  const isDone = done?.firmware === unit.firmware && done.isBound === (unit.boundTo !== undefined)
  if (isDone) return <Notice kind="good">The bench says so now. Undo takes it back.</Notice>
  const text = version.trim()
  const isRight = text === '' || versionSchema.safeParse(text).success
  const write = () => {
    const seen = { firmware: text === '' ? UNKNOWN : text, isBound }
    onChangeBench(`update of ${unit.nickname}`, benchAfterRun(bench, runbook, seen))
    setDone(seen)
  }
  return (
    <form
      className="gd-onto"
      noValidate
      onSubmit={event => {
        event.preventDefault()
        if (isRight) write()
      }}
    >
      <h3>Onto the bench</h3>
      <label htmlFor={id}>The version that you saw</label>
      <input
        id={id}
        className="ui-input"
        value={version}
        aria-invalid={!isRight}
        aria-describedby={isRight ? undefined : `${id}-wrong`}
        onChange={e => setVersion(e.target.value)}
      />
      {!isRight && (
        <p id={`${id}-wrong`} className="ui-field-error">
          Three numbers with dots, such as 2.3.1, or nothing where you do not know.
        </p>
      )}
      <label className="ui-check">
        <input type="checkbox" checked={isBound} onChange={e => setBound(e.target.checked)} />
        It is bound, and follows the sticks
      </label>
      <Button kind="primary" type="submit">
        Write it on the bench
      </Button>
    </form>
  )
}
