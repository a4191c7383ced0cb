import { useMemo, useState } from 'react'
import { effortWords } from '../../../shared/bench-run/effort.ts'
import type { WritePlanInput } from '../../../shared/bench-run/plan.ts'
import { WHOLE } from '../../../shared/experience/write-facts.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { unpackTrace } from '../../../shared/sim/pack.ts'
import type { Trace } from '../../../shared/sim/trace.ts'
import { Button } from '../../ui/Button.tsx'
import { ProblemList, problemsOf } from '../../ui/Notice.tsx'
import { firstWords, openWords, usualWords, WRITES } from '../guide/experience-words.ts'
import { useExperience } from '../guide/use-experience.ts'
import type { ProgramClient, WriteCheck } from './client.ts'
import { TracePicture } from './LineTrace.tsx'
import { Preconditions } from './Preconditions.tsx'
import { StepStrip } from './StepStrip.tsx'
import type { StepId } from './steps.ts'
import { stripOf } from './strip.ts'
import { saySeconds } from './words.ts'

interface RehearseStepProps {
  readonly client: ProgramClient
  readonly plan: WritePlanInput | undefined
  readonly check: WriteCheck | undefined
  readonly problems: readonly Problem[]
  readonly isDone: boolean
  readonly onRehearsed: () => void
  readonly onGo: (step: StepId) => void
}

/** The very plan on simulated devices first, and the list of what must hold. */
export function RehearseStep({
  client,
  plan,
  check,
  problems,
  isDone,
  onRehearsed,
  onGo,
}: RehearseStepProps) {
  const [isBusy, setBusy] = useState(false)
  const [trouble, setTrouble] = useState<readonly Problem[]>([])
  const [line, setLine] = useState<{ readonly key: string; readonly trace: Trace }>()
  if (plan === undefined)
    return (
      <p>Choose the port, the wiring, the image and the dialect first. Then this very write is rehearsed.</p>
    )
  const rehearse = async () => {
    setBusy(true)
    setTrouble([])
    try {
      const { rehearsed, trace } = await client.call('write.rehearse', { plan })
      setLine({ key: rehearsed.key, trace: unpackTrace(trace) })
      onRehearsed()
    } catch (error) {
      setTrouble(problemsOf(error))
    } finally {
      setBusy(false)
    }
  }
  return (
    <>
      {problems.length > 0 && <ProblemList problems={problems} />}
      {check === undefined ? (
        problems.length === 0 && <p className="pg-soft">Checking…</p>
      ) : (
        <Preconditions
          list={check.preconditions.filter(p => p.id !== 'cautions')}
          here="rehearse"
          onGo={onGo}
        />
      )}
      <div className="app-buttons">
        <Button kind={isDone ? 'plain' : 'primary'} disabled={isBusy} onClick={rehearse}>
          {isBusy ? 'Rehearsing…' : check?.rehearsed ? 'Rehearse it again' : 'Rehearse this write'}
        </Button>
      </div>
      {trouble.length > 0 && <ProblemList problems={trouble} />}
      <OnThisBench client={client} plan={plan} />
      {check?.rehearsed && (
        <AsRehearsed check={check} trace={line?.key === check.key ? line.trace : undefined} />
      )}
    </>
  )
}

/** What earlier writes by this dialect have shown; before the first one there is nothing to say. */
function OnThisBench({ client, plan }: { readonly client: ProgramClient; readonly plan: WritePlanInput }) {
  const { bench, receiverId, dialect } = plan
  const known = bench.receivers.find(one => one.id === receiverId)?.typeId
  const about = { benchName: bench.name, way: dialect, typeId: known ?? null }
  const experience = useExperience(client, { kind: 'write', ...about })
  const usual = usualWords(experience.times[WHOLE], WRITES)
  if (experience.first === null && usual === '') return null
  return (
    <p>
      {firstWords(experience, WRITES)} {usual} <span className="pg-soft">{openWords(experience)}</span>
    </p>
  )
}

interface AsRehearsedProps {
  readonly check: WriteCheck
  readonly trace: Trace | undefined
}

/** On the ground of a rehearsal, with its word: nothing of this was real. */
function AsRehearsed({ check, trace }: AsRehearsedProps) {
  const { rehearsed } = check
  const [isOpen, setOpen] = useState(false)
  const strip = useMemo(() => stripOf(rehearsed), [rehearsed])
  if (rehearsed === null) return null
  return (
    <section className="pg-rehearsal" aria-label="As rehearsed">
      <p>
        <strong className="pg-rehearsal-word">Rehearsal</strong> {rehearsed.sentence} It took{' '}
        {saySeconds(rehearsed.simulatedMs)} of simulated time, {effortWords(rehearsed)}.
      </p>
      <StepStrip strip={strip} hasReal={false} />
      {trace !== undefined && (
        <details className="pg-trace" onToggle={e => setOpen(e.currentTarget.open)}>
          <summary>Look at the simulated line</summary>
          {isOpen && <TracePicture trace={trace} follow={false} />}
        </details>
      )}
    </section>
  )
}
