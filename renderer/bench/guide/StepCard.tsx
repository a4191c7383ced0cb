import { useEffect, useRef, useState } from 'react'
import type { Experience } from '../../../shared/experience/experience.ts'
import { partWords, type Step } from '../../../shared/runbook/schema.ts'
import { Button } from '../../ui/Button.tsx'
import { Big } from './Big.tsx'
import { Caution } from './Caution.tsx'
import { Countdown } from './Countdown.tsx'
import { firstWords, RUNS } from './experience-words.ts'
import { useKeys } from './keys.ts'
import { RepairAsked } from './RepairAsked.tsx'
import type { ActiveRun, Advice, RunDesk } from './run-desk.ts'
import { Soon } from './Soon.tsx'
import { StepText } from './StepText.tsx'
import { isEarly, repairLabel } from './words.ts'

export interface StepCardProps {
  readonly desk: RunDesk
  readonly run: ActiveRun
  /** What earlier runs on this bench have shown. */
  readonly experience: Experience
  readonly hasTone: boolean
  readonly onTone: (hasTone: boolean) => void
  /** Given where there is something to diagnose from here. */
  readonly onDiagnose: (() => void) | undefined
  /** Given where the bench of the receiver is open. */
  readonly onStage: (() => void) | undefined
  /** What Diagnose advises, where it was asked at this step. */
  readonly advice: Advice | undefined
}

/** What to do now, what should be seen, and the three answers. */
export function StepCard(props: StepCardProps) {
  const { desk, run, experience, hasTone, onTone, onDiagnose, onStage, advice } = props
  const { state } = run
  const { step } = state
  const [isAsking, setAsking] = useState(false)
  const [soonMs, setSoon] = useState<number>()
  const isSoon = soonMs !== undefined
  const heading = useFocusedHeading(`${step.id} ${isAsking} ${isSoon}`)
  const usual = experience.times[step.id]
  const saidSaw = () => {
    setSoon(undefined)
    desk.saw(advice)
  }
  const saw = () => {
    const spentMs = Date.now() - state.enteredAtMs
    if (isEarly(step, spentMs, usual)) setSoon(spentMs)
    else saidSaw()
  }
  const unsure = () => desk.say({ said: 'unsure' })
  const goBack = state.canGoBack ? () => desk.say({ said: 'back' }) : undefined
  const other = (index: number) => desk.say({ said: 'other', other: index })
  const ask = () => (step.others.length === 1 ? other(0) : setAsking(true))
  const choices = Object.fromEntries(step.others.map((_, i) => [String(i + 1), () => other(i)]))
  const keys = isSoon
    ? {}
    : isAsking
      ? { ...choices, d: onDiagnose, b: () => setAsking(false), escape: () => setAsking(false) }
      : { space: saw, e: ask, u: unsure, b: goBack, ...settleKeys(desk, state.repair !== undefined) }
  useKeys(keys, `${step.id} ${isAsking} ${isSoon}`)
  const { enteredAtMs } = state
  const countdown = <Countdown {...{ step, enteredAtMs, usual, hasTone, onTone }} />
  const back = () => setSoon(undefined)
  if (isSoon) return <Soon {...{ step, countdown }} afterMs={soonMs} onSaw={saidSaw} onBack={back} />
  return (
    <article className="gd-card" aria-labelledby="gd-step">
      <StepText>
        <p className="gd-part">
          Step {state.number} of {state.of} · {partWords[step.part]}
        </p>
        {!isAsking && <RepairAsked desk={desk} />}
        <h2 id="gd-step" ref={heading} tabIndex={-1}>
          {isAsking ? 'What do you see instead?' : step.text}
        </h2>
        {isAsking ? (
          <>
            <p className="gd-soft">It should be: {step.expect}</p>
            <div className="gd-choices">
              {step.others.map((one, i) => (
                <Big key={one.text} hotkey={String(i + 1)} onClick={() => other(i)}>
                  {one.text}
                </Big>
              ))}
            </div>
          </>
        ) : (
          <Told step={step} isUnsure={state.unsure} />
        )}
        {!isAsking && step.part === 'card' && onStage && (
          <Button className="gd-stage" onClick={onStage}>
            To the Firmware view
          </Button>
        )}
        {!isAsking && countdown}
        {!isAsking && advice !== undefined && (
          <p className="gd-soft">
            Diagnose advises: <strong>{repairLabel(advice.causes)}</strong> Once it is as it should be, you
            are asked whether it was that.
          </p>
        )}
        {!isAsking && AT_FIRST_WRITE.includes(step.id) && experience.first !== null && (
          <p className="gd-soft">{firstWords(experience, RUNS)}</p>
        )}
      </StepText>
      <div className="gd-acts">
        {isAsking ? (
          <>
            <Big hotkey="B" onClick={() => setAsking(false)}>
              Back to the step
            </Big>
            {onDiagnose && (
              <Big hotkey="D" onClick={onDiagnose}>
                None of these: find the reason
              </Big>
            )}
          </>
        ) : (
          <>
            <Big hotkey="Space" isPrimary onClick={saw}>
              Saw it
            </Big>
            <Big hotkey="E" onClick={ask}>
              Something else
            </Big>
            <Big hotkey="U" onClick={unsure}>
              Not sure
            </Big>
            {goBack && (
              <Big hotkey="B" isQuiet onClick={goBack}>
                Back
              </Big>
            )}
          </>
        )}
      </div>
    </article>
  )
}

/** Where somebody waits for the first write, and where it has failed. */
const AT_FIRST_WRITE: readonly string[] = ['watch', 'second-pause']

/** One key each, for as long as it is asked whether it was the repair. */
export const settleKeys = (desk: RunDesk, isAsked: boolean) =>
  isAsked ? { y: () => void desk.settle(true), n: () => void desk.settle(false) } : {}

function Told({ step, isUnsure }: { readonly step: Step; readonly isUnsure: boolean }) {
  return (
    <>
      {step.caution !== undefined && <Caution>{step.caution}</Caution>}
      <p className="gd-expect">
        <span>You should see</span> {step.expect}
      </p>
      {isUnsure && (
        <p className="gd-sure" role="status">
          <span>To be sure</span> {step.sure}
        </p>
      )}
    </>
  )
}

/** The heading takes the focus when the step changes, so that it is read out and the space key is free. */
export function useFocusedHeading(changed: string) {
  const heading = useRef<HTMLHeadingElement>(null)
  // biome-ignore lint/correctness/useExhaustiveDependencies: the focus follows the step
  useEffect(() => heading.current?.focus({ preventScroll: true }), [changed])
  return heading
}
