import { useEffect, useState } from 'react'
import type { Problem } from '../../../shared/model/problem.ts'
import { outcomeWords } from '../../../shared/procedure/effects.ts'
import type { RehearsalRequest } from '../../../shared/rehearse/report.ts'
import { PARTS, type Part, partWords, type Runbook } from '../../../shared/runbook/schema.ts'
import type { AppClient } from '../../api/client.ts'
import { Button } from '../../ui/Button.tsx'
import { EmptyState } from '../../ui/EmptyState.tsx'
import { Notice, ProblemList, problemsOf } from '../../ui/Notice.tsx'
import type { WayProps } from '../ways.ts'
import { Caution } from './Caution.tsx'
import { firstWords, openWords, RUNS, usualWords, usualWriting } from './experience-words.ts'
import type { RunDesk } from './run-desk.ts'
import { useExperience } from './use-experience.ts'
import { useRun } from './use-run.ts'
import { isBackByCable, sayTime, wholeMs, writingMs } from './words.ts'
import './guide.css'

interface GuideStartProps extends WayProps {
  readonly client: Pick<AppClient, 'call'>
  readonly desk: RunDesk
}

/** Before a guided run: it is rehearsed, or told why it cannot begin. */
export function GuideStart(props: GuideStartProps) {
  const { plan } = props
  if (plan.request === undefined)
    return (
      <EmptyState title="There is no image for this receiver yet">
        <p>Bring one in the Firmware view, or choose another receiver.</p>
      </EmptyState>
    )
  const report = plan.rehearsed?.session.report
  if (report === undefined) return <NotRehearsed {...props} />
  if (report.outcome !== 'updated')
    return (
      <EmptyState title="When this was rehearsed, the receiver was not updated">
        <p>
          {outcomeWords[report.outcome]} {report.why}
        </p>
        <div className="app-buttons">
          <Button kind="primary" onClick={props.onRehearse}>
            See it in Rehearse
          </Button>
          <RehearseNow {...props} label="Rehearse it again" />
        </div>
      </EmptyState>
    )
  return <Rehearsed {...props} request={plan.request} />
}

function NotRehearsed(props: GuideStartProps) {
  const { plan } = props
  return (
    <EmptyState
      title={
        plan.isOutdated ? 'Since it was rehearsed, something has changed' : 'This has not been rehearsed yet'
      }
    >
      <p>
        Nothing is done to a real receiver that has not gone well on simulated devices before: with this
        receiver, this image, this route, and the bench as it is now. It takes a moment, and gives the steps
        and their times.
      </p>
      <Troubles {...props} />
      <div className="app-buttons">
        <RehearseNow {...props} label="Rehearse it now" isPrimary />
        <Button kind="quiet" onClick={props.onRehearse}>
          Set it up in Rehearse
        </Button>
      </div>
    </EmptyState>
  )
}

type RehearseNowProps = GuideStartProps & { readonly label: string; readonly isPrimary?: boolean }

function RehearseNow({ bench, receiver, plan, rehearsal, label, isPrimary }: RehearseNowProps) {
  return (
    <>
      <Button
        kind={isPrimary ? 'primary' : 'plain'}
        disabled={rehearsal.busy}
        onClick={() => {
          plan.remember()
          void rehearsal.run(bench, receiver.id, plan.settings)
        }}
      >
        {rehearsal.busy ? 'Rehearsing…' : label}
      </Button>
      {rehearsal.busy && (
        <Button disabled={rehearsal.underWay?.isCancelling} onClick={rehearsal.cancel}>
          Cancel the rehearsal
        </Button>
      )}
    </>
  )
}

function Troubles({ rehearsal }: GuideStartProps) {
  const { receiver, image, version, other } = rehearsal.problems
  const told = [receiver, image, version, ...other].filter(text => text !== undefined)
  if (rehearsal.wasCancelled) return <p role="status">The rehearsal was cancelled.</p>
  if (told.length === 0) return null
  return <Notice kind="danger">{told.join(' ')}</Notice>
}

function useRunbook(client: Pick<AppClient, 'call'>, request: RehearsalRequest) {
  const [made, setMade] = useState<{
    of: RehearsalRequest
    runbook?: Runbook
    problems: readonly Problem[]
  }>()
  useEffect(() => {
    let isCurrent = true
    client.call('guide.plan', request).then(
      ({ runbook }) => isCurrent && setMade({ of: request, runbook, problems: [] }),
      error => isCurrent && setMade({ of: request, problems: problemsOf(error) }),
    )
    return () => {
      isCurrent = false
    }
  }, [client, request])
  return made?.of === request ? made : { runbook: undefined, problems: [] }
}

/** The way through, with what it takes; then the one button. */
function Rehearsed(props: GuideStartProps & { readonly request: RehearsalRequest }) {
  const { client, desk, bench, request } = props
  const { runbook, problems } = useRunbook(client, request)
  const { left } = useRun(desk)
  const [trouble, setTrouble] = useState<readonly Problem[]>([])
  const [isBusy, setBusy] = useState(false)
  if (problems.length > 0) return <ProblemList problems={problems} />
  if (runbook === undefined) return <p className="gd-wait">Making the runbook of the rehearsal…</p>
  const begin = () => {
    setBusy(true)
    desk.begin(runbook, bench.name).catch(error => {
      setBusy(false)
      setTrouble(problemsOf(error))
    })
  }
  return (
    <section className="gd-start" aria-label="The run">
      <h2>Rehearsed, and it went well</h2>
      <p>
        The radio writes for about <strong>{sayTime(writingMs(runbook))}</strong>. With everything before and
        after, the range check too, allow <strong>{sayTime(wholeMs(runbook))}</strong>.
      </p>
      {isBackByCable(runbook) && (
        <p>
          If it breaks off on the way, it is brought back <strong>by cable</strong>: you must be able to get
          to the receiver then.
        </p>
      )}
      <OnThisBench client={client} benchName={bench.name} runbook={runbook} />
      {runbook.steps[0].caution !== undefined && <Caution>{runbook.steps[0].caution}</Caution>}
      {trouble.length > 0 && <ProblemList problems={trouble} onClose={() => setTrouble([])} />}
      {left === undefined ? (
        <Button kind="primary" className="gd-begin" disabled={isBusy} onClick={begin}>
          Begin the guided run
        </Button>
      ) : (
        <p>Go on with the run above first, or end it.</p>
      )}
      <Outline runbook={runbook} />
    </section>
  )
}

interface OnThisBenchProps {
  readonly client: Pick<AppClient, 'call'>
  readonly benchName: string
  readonly runbook: Runbook
}

/** What earlier runs have shown; before the first one there is nothing to say. */
function OnThisBench({ client, benchName, runbook: { route, receiver } }: OnThisBenchProps) {
  const about = { kind: 'guided', benchName, way: route, typeId: receiver.typeId } as const
  const experience = useExperience(client, about)
  const writing = usualWords(usualWriting(experience), RUNS)
  if (experience.first === null && writing === '') return null
  return (
    <div className="gd-own">
      {writing !== '' && <p>The writing: {lowered(writing)}</p>}
      {experience.first !== null && (
        <p>
          {firstWords(experience, RUNS)} <span className="gd-soft">{openWords(experience)}</span>
        </p>
      )}
    </div>
  )
}

const lowered = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1)

/** Steps are counted as the run counts them, without a second attempt; that one has letters. */
function firstOf({ steps }: Runbook, part: Part): number {
  if (part === 'second') return 1
  return steps.filter(step => step.part !== 'second').findIndex(step => step.part === part) + 1
}

function Outline({ runbook }: { readonly runbook: Runbook }) {
  return (
    <details className="gd-outline">
      <summary>Read all steps first</summary>
      {PARTS.map(part => {
        const steps = runbook.steps.filter(step => step.part === part)
        if (steps.length === 0) return null
        return (
          <section key={part}>
            <h3>{part === 'second' ? `${partWords[part]}, if the first write fails` : partWords[part]}</h3>
            <ol type={part === 'second' ? 'a' : '1'} start={firstOf(runbook, part)}>
              {steps.map(step => (
                <li key={step.id}>{step.text}</li>
              ))}
            </ol>
          </section>
        )
      })}
    </details>
  )
}
