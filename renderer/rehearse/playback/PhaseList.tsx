import { type Phase, phaseWords } from '../../../shared/sim/trace.ts'
import type { Session } from '../timeline/session.ts'
import { saySpan } from '../timeline/viewport.ts'
import type { PlaybackClock } from './clock.ts'
import { type Progress, phaseIndexAt, progressAt, supplyAt } from './state-at.ts'
import { useClockView } from './use-clock.ts'

const endedWords: Readonly<Record<Phase['ended'], string>> = {
  done: 'done',
  failed: 'failed',
  'broken-off': 'broken off',
}
const marks: Readonly<Record<string, string>> = {
  done: '✓',
  failed: '✕',
  'broken-off': '✕',
  now: '▸',
  ahead: '·',
}

/** The phases of the session with how far the one under way has got. */
export function PhaseList({ session, clock }: { session: Session; clock: PlaybackClock }) {
  const { atNs, ended } = useClockView(clock)
  const { trace } = session
  const now = phaseIndexAt(trace.phases, atNs)
  const supply = supplyAt(trace.supply, atNs)
  const attempt = trace.phases[now]?.attempt ?? 1
  const attempts = trace.phases.at(-1)?.attempt ?? 1
  return (
    <section aria-label="Phases">
      <dl className="rh-facts">
        <dt>Time left</dt>
        <dd className="rh-figures">{ended ? 'none' : saySpan(trace.endNs - atNs)}</dd>
        <dt>Attempt</dt>
        <dd className="rh-figures">
          {attempt} of {attempts}
        </dd>
        <dt>Supply</dt>
        <dd className="rh-figures">
          {supply === undefined
            ? 'not known'
            : `${supply.volts.toFixed(2)} V, ${supply.milliamps.toFixed(0)} mA`}
        </dd>
      </dl>
      <ol className="rh-phases">
        {trace.phases.map((phase, i) => (
          <PhaseRow
            key={`${phase.id}-${phase.startNs}`}
            phase={phase}
            place={ended || phase.endNs <= atNs ? 'over' : i === now ? 'now' : 'ahead'}
            newAttempt={i > 0 && trace.phases[i - 1].attempt !== phase.attempt}
            progress={i === now && !ended ? progressAt(trace, i, atNs) : undefined}
            leftNs={phase.endNs - atNs}
            onGo={() => clock.seek(phase.startNs)}
          />
        ))}
      </ol>
    </section>
  )
}

interface PhaseRowProps {
  readonly phase: Phase
  readonly place: 'over' | 'now' | 'ahead'
  readonly newAttempt: boolean
  readonly progress: Progress | undefined
  readonly leftNs: number
  readonly onGo: () => void
}

function PhaseRow({ phase, place, newAttempt, progress, leftNs, onGo }: PhaseRowProps) {
  const state = place === 'over' ? phase.ended : place
  const said =
    place === 'over'
      ? phase.ended === 'done'
        ? saySpan(phase.endNs - phase.startNs)
        : endedWords[phase.ended]
      : place === 'now'
        ? `${saySpan(leftNs)} left`
        : ''
  return (
    <li className={`rh-phase rh-phase-${state}`} aria-current={place === 'now' ? 'step' : undefined}>
      {newAttempt ? <p className="rh-phase-attempt">Attempt {phase.attempt}</p> : null}
      <button type="button" className="rh-row" onClick={onGo}>
        <span className="rh-phase-mark" aria-hidden="true">
          {marks[state]}
        </span>
        <span className="rh-phase-name">{phaseWords[phase.id]}</span>
        <span className="rh-soft rh-figures">
          {place === 'over' && phase.ended === 'done' ? <span className="rh-hidden">done, </span> : null}
          {said}
        </span>
      </button>
      {progress === undefined || progress.total <= 0 ? null : (
        <progress
          aria-label={`${phaseWords[phase.id]}: progress`}
          value={progress.done}
          max={progress.total}
          className="rh-progress"
        />
      )}
    </li>
  )
}
