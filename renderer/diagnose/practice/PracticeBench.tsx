import { useEffect, useRef } from 'react'
import type {
  Exercise,
  PracticeDone,
  PracticeSetup,
  PracticeStep,
} from '../../../shared/diagnose/exercise.ts'
import { symptomWords } from '../../../shared/diagnose/words.ts'
import { Button } from '../../ui/Button.tsx'
import { minuteWords, routeWords } from '../words.ts'
import { LookList } from './LookList.tsx'
import { PracticeTag } from './PracticeTag.tsx'
import { RepairList } from './RepairList.tsx'
import { faultWords, sayAfter, sayDone, spentWords } from './results.ts'

export interface PracticeBenchProps {
  readonly setup: PracticeSetup
  readonly exercise: Exercise
  readonly isBehind: boolean
  readonly onStep: (step: PracticeStep) => void
  readonly onOther: () => void
}

/** An exercise under way: what was told, what is seen, what it took so far, and all that can be done. */
export function PracticeBench(props: PracticeBenchProps) {
  const { exercise, onStep } = props
  const story = useRef<HTMLElement>(null)
  const last = exercise.done.at(-1)
  // biome-ignore lint/correctness/useExhaustiveDependencies: the button that had the focus may be gone with the step
  useEffect(() => {
    if (document.activeElement === null || document.activeElement === document.body)
      story.current?.focus({ preventScroll: true })
  }, [exercise])
  return (
    <>
      <section className="pr-story" ref={story} tabIndex={-1} aria-label="The exercise">
        <Story {...props} />
        {last !== undefined && last.do !== 'hint' && <Last done={last} />}
        {last?.do === 'hint' && <Hint hint={last} onStep={onStep} />}
      </section>
      <p className="visually-hidden" role="status">
        {last === undefined ? '' : `${sayDone(last)} ${minuteWords(exercise.spent.minutes)} so far.`}
      </p>
      <div className="pr-board">
        <LookList facts={exercise.facts} onLook={fact => onStep({ do: 'look', fact })} />
        <RepairList
          repairs={exercise.repairs}
          tryMinutes={exercise.tryMinutes}
          onRepair={cause => onStep({ do: 'repair', causes: [cause] })}
        />
      </div>
    </>
  )
}

function Story({ setup, exercise, isBehind, onStep, onOther }: PracticeBenchProps) {
  const { told, now, first, route, spent } = exercise
  const seen = now === 'none' ? first : now
  return (
    <div className="pr-story-line">
      <div className="pr-story-words">
        <p className="dg-kind">
          Exercise {setup.seed} <PracticeTag />{' '}
          <span>
            {faultWords[setup.faults]}
            {setup.lies ? '; looks can be wrong' : ''}
          </span>
        </p>
        <p className="pr-told">“{told}”</p>
        <p>
          What is seen{now === first ? '' : ' now'}: <strong>{symptomWords[seen].label}</strong> (
          {routeWords[route].toLowerCase()})
        </p>
      </div>
      <div className="pr-clock" aria-busy={isBehind}>
        <p>
          <span className="dg-soft dg-small">Bench time</span>
          <strong>{minuteWords(spent.minutes)}</strong>
          <span className="dg-soft dg-small">{spentWords(spent)}</span>
        </p>
      </div>
      <div className="pr-story-act">
        <Button onClick={() => onStep({ do: 'hint' })}>Give me a hint</Button>
        <Button onClick={() => onStep({ do: 'give-up' })}>Give up, show it</Button>
        <Button kind="quiet" onClick={onOther}>
          Other exercise
        </Button>
      </div>
    </div>
  )
}

function Last({ done }: { readonly done: Exclude<PracticeDone, { do: 'hint' }> }) {
  return (
    <p className="pr-last">
      {done.do === 'look' ? (
        <>
          {done.question} <strong>{done.answer === 'yes' ? 'Yes' : 'No'}.</strong>
        </>
      ) : (
        <>
          {done.label} <strong>{sayAfter(done)}</strong>
        </>
      )}{' '}
      <span className="pr-minutes">{minuteWords(done.minutes)}.</span>
    </p>
  )
}

interface HintProps {
  readonly hint: Extract<PracticeDone, { do: 'hint' }>
  readonly onStep: (step: PracticeStep) => void
}

/** What the engine would do next, and why. */
function Hint({ hint, onStep }: HintProps) {
  const { next, label } = hint
  const step: PracticeStep | undefined =
    next.do === 'look'
      ? { do: 'look', fact: next.fact }
      : next.do === 'repair'
        ? { do: 'repair', causes: next.members }
        : undefined
  return (
    <div className="pr-hint">
      <div>
        <p>
          <strong>Hint: </strong>
          {next.do === 'look'
            ? `${next.again ? 'look once more' : 'look'}. ${label}`
            : next.do === 'repair'
              ? `repair. ${label}`
              : 'nothing explains what was seen.'}
        </p>
        <p className="dg-soft dg-small">{next.why}</p>
      </div>
      {step && (
        <Button kind="primary" onClick={() => onStep(step)}>
          {next.do === 'look' ? 'Look there' : 'Do that'}
        </Button>
      )}
    </div>
  )
}
