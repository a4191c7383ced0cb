import { type ReactNode, useEffect, useRef } from 'react'
import { Button } from '../../ui/Button.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'
import { type StepId, type StepSays, type StepState, stepTitles } from './steps.ts'

export interface StepProps {
  readonly step: StepId
  readonly number: number
  readonly state: StepState
  /** Stands in place of the word for the state. */
  readonly says?: StepSays | undefined
  readonly isOpen: boolean
  /** What was chosen in it, in a line. */
  readonly summary: string
  readonly onToggle: () => void
  /** On to the next; undefined while this one is not done, and in the last. */
  readonly onNext: (() => void) | undefined
  /** Longer than a screen: the way on is also at its top. */
  readonly isTall?: boolean
  readonly children: ReactNode
}

/** One step of the way: one of them is open, the others say in a line what was chosen. */
export function Step({
  step,
  number,
  state,
  says,
  isOpen,
  summary,
  onToggle,
  onNext,
  isTall,
  children,
}: StepProps) {
  const head = useRef<HTMLButtonElement>(null)
  const wasOpen = useRef(isOpen)
  useEffect(() => {
    // The button that led here is gone; the keyboard goes on from the head of the step.
    if (isOpen && !wasOpen.current) {
      head.current?.focus({ preventScroll: true })
      head.current?.scrollIntoView({ block: 'nearest' })
    }
    wasOpen.current = isOpen
  }, [isOpen])
  const onward = onNext && (
    <Button kind="primary" onClick={onNext}>
      Next step
    </Button>
  )
  return (
    <li className={`pg-step pg-step-${state}${isOpen ? ' pg-step-open' : ''}`}>
      <h3>
        <button ref={head} type="button" aria-expanded={isOpen} onClick={onToggle}>
          <span className="pg-step-number" aria-hidden="true">
            {number}
          </span>
          <span className="pg-step-title">{stepTitles[step]}</span>
          {!isOpen && summary !== '' && <span className="pg-step-summary">{summary}</span>}
          <span className="pg-step-state">
            <StateWord state={state} says={says} />
          </span>
        </button>
      </h3>
      {isOpen && (
        <div className="pg-step-body">
          {isTall && onward && <div className="pg-step-on">{onward}</div>}
          {children}
          {!isTall && onward && <div className="pg-step-on">{onward}</div>}
        </div>
      )}
    </li>
  )
}

function StateWord({ state, says }: Pick<StepProps, 'state' | 'says'>) {
  if (says !== undefined) return <StatusMark status={says.status}>{says.word}</StatusMark>
  if (state === 'done') return <StatusMark status="good">done</StatusMark>
  return state === 'next' ? <span className="pg-next-word">next</span> : null
}
