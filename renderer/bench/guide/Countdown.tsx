import type { UsualTime } from '../../../shared/experience/experience.ts'
import type { Step } from '../../../shared/runbook/schema.ts'
import { RUNS, usualWords } from './experience-words.ts'
import { useNow, useTone } from './use-run.ts'
import { countdownOf, isWaiting, phaseAt, sayTime } from './words.ts'

interface CountdownProps {
  readonly step: Step
  readonly enteredAtMs: number
  /** What it takes on this bench, where that is known. */
  readonly usual: UsualTime | undefined
  readonly hasTone: boolean
  readonly onTone: (hasTone: boolean) => void
}

/** What is left of the time that the rehearsal took; where hands are at work, only how long it usually takes. */
export function Countdown({ step, enteredAtMs, usual, hasTone, onTone }: CountdownProps) {
  const spentMs = useNow() - enteredAtMs
  const { share, text, isOver } = countdownOf(step, spentMs, usual)
  const waits = isWaiting(step)
  useTone(hasTone, waits && isOver, `${step.id} ${enteredAtMs}`)
  return (
    <div className={`gd-time${isOver ? ' gd-time-over' : ''}`} role="timer" aria-label="Time">
      {waits && <progress aria-label="Of the rehearsed time" value={share} max={1} />}
      <p className="gd-time-left">{text}</p>
      {usual !== undefined && <p className="gd-soft">{usualWords(usual, RUNS)}</p>}
      {waits && step.phases.length > 1 && <Phases step={step} spentMs={spentMs} />}
      {waits && (
        <label className="ui-check">
          <input type="checkbox" checked={hasTone} onChange={e => onTone(e.target.checked)} />A tone when the
          time is up
        </label>
      )}
    </div>
  )
}

/** Where the rehearsal was after as long: a radio that shows something else is not wrong by that. */
function Phases({ step, spentMs }: { readonly step: Step; readonly spentMs: number }) {
  const now = phaseAt(step, spentMs)
  return (
    <ol className="gd-phases" aria-label="What happens, as rehearsed">
      {step.phases.map(({ id, words, ms }, i) => (
        <li key={id} aria-current={i === now ? 'step' : undefined}>
          <span>{words}</span>
          <span>{ms < 1000 ? 'under a second' : sayTime(ms)}</span>
        </li>
      ))}
    </ol>
  )
}
