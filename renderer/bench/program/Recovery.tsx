import { useEffect, useRef } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import { Button } from '../../ui/Button.tsx'
import { Caution } from '../guide/Caution.tsx'
import type { Recovering, WriteDesk } from './desk.ts'
import { draftOfPlan } from './draft.ts'
import { saySeconds } from './words.ts'

interface RecoveryProps {
  readonly recovery: Recovering
  readonly desk: WriteDesk
  readonly bench: Bench | undefined
  readonly onChooseReceiver: (id: string) => void
  /** Opens a copy of the bench, with this receiver chosen. */
  readonly onOpenBench: (bench: Bench, receiverId: string) => void
}

/** The way back from a write that failed or broke off, which the simulator has gone before. */
export function Recovery({ recovery, desk, bench, onChooseReceiver, onOpenBench }: RecoveryProps) {
  const { plan, words, stateWords, sessionId } = recovery
  const heading = useRef<HTMLHeadingElement>(null)
  // biome-ignore lint/correctness/useExhaustiveDependencies: each way back is looked at from its top
  useEffect(() => heading.current?.focus(), [sessionId])
  const receiver = plan && bench?.receivers.find(r => r.id === plan.receiverId)
  const unit = plan?.bench.receivers.find(r => r.id === plan.receiverId)
  const steps = recovery.recovery?.steps ?? []
  const rehearsed = recovery.recovery?.rehearsed
  const more = words.startsWith(stateWords) ? words.slice(stateWords.length).trim() : words
  const again = () => {
    if (plan === null) return
    desk.setDraft(plan.receiverId, { ...draftOfPlan(plan, sessionId), open: 'port' })
    onChooseReceiver(plan.receiverId)
    const ended = desk.get().lanes.find(lane => lane.sessionId === sessionId && lane.end !== null)
    if (ended !== undefined) desk.dismiss(ended.lane)
    desk.closeRecovery()
  }
  return (
    <section className="pg-recovery" aria-labelledby="pg-recovery">
      <h2 id="pg-recovery" ref={heading} tabIndex={-1}>
        The way back{unit === undefined ? '' : `: ${unit.nickname}`}
      </h2>
      <p className="pg-end-state">{stateWords}</p>
      {more !== '' && <p>{more}</p>}
      {steps.length > 0 && (
        <ol className="pg-recovery-steps">
          {steps.map(({ text, expect, caution }) => (
            <li key={text}>
              <p>{text}</p>
              {caution !== undefined && <Caution>{caution}</Caution>}
              {expect !== undefined && <p className="pg-soft">Then: {expect}</p>}
            </li>
          ))}
        </ol>
      )}
      {rehearsed?.outcome === 'updated' && (
        <p className="pg-small pg-soft">
          These steps were carried out on a simulated receiver in this very state: it was updated in the end,
          after {saySeconds(rehearsed.simulatedMs)}.
        </p>
      )}
      {plan !== null && receiver === undefined && (
        <p>
          The receiver is on the bench “{plan.bench.name}”. Open its file, or a copy of it as it was when the
          write began; then this way back goes on from there.
        </p>
      )}
      <div className="app-buttons">
        {plan !== null && receiver !== undefined && (
          <Button kind="primary" onClick={again}>
            Get ready to write it again
          </Button>
        )}
        {plan !== null && receiver === undefined && (
          <Button kind="primary" onClick={() => onOpenBench(plan.bench, plan.receiverId)}>
            Open a copy of that bench
          </Button>
        )}
        <Button kind="quiet" onClick={() => desk.closeRecovery()}>
          Close
        </Button>
      </div>
    </section>
  )
}
