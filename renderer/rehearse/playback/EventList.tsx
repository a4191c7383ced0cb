import { useEffect, useMemo, useRef } from 'react'
import type { SessionEvent } from '../../../shared/procedure/effects.ts'
import { phaseWords, type TimedEvent, type Trace } from '../../../shared/sim/trace.ts'
import { upperBound } from '../../../shared/wire/lane-index.ts'
import { sayClock } from '../timeline/viewport.ts'
import type { PlaybackClock } from './clock.ts'
import { useClockView } from './use-clock.ts'
import { VirtualList } from './VirtualList.tsx'

type ShownLevel = 'info' | 'good' | 'caution' | 'danger'
const levelMarks: Readonly<Record<ShownLevel, string>> = { info: '·', good: '✓', caution: '!', danger: '✕' }
const levelNames: Readonly<Record<ShownLevel, string>> = {
  info: '',
  good: 'Good: ',
  caution: 'Caution: ',
  danger: 'Failure: ',
}

function levelOf(event: SessionEvent): ShownLevel {
  switch (event.kind) {
    case 'note':
      return event.level
    case 'retry':
      return 'caution'
    case 'attempt-failed':
    case 'fault':
    case 'refused':
      return 'danger'
    case 'outcome':
      return event.outcome === 'updated' ? 'good' : 'danger'
    default:
      return 'info'
  }
}

export function sayEvent(event: SessionEvent): string {
  switch (event.kind) {
    case 'phase':
      return `${phaseWords[event.phase]}${event.attempt > 1 ? `, attempt ${event.attempt}` : ''}`
    case 'progress':
      return `${event.done} of ${event.total}`
    case 'attempt-failed':
      return `Attempt ${event.attempt} failed. ${event.text}`
    case 'refused':
      return `The ${event.by} refuses. ${event.text}`
    default:
      return event.text
  }
}

const ROW_PX = 40

/** All events of the session; a click moves the play head to one. */
export function EventList({ trace, clock }: { trace: Trace; clock: PlaybackClock }) {
  const { atNs } = useClockView(clock)
  const times = useMemo(() => trace.events.map(e => e.atNs), [trace])
  const last = upperBound(times, atNs) - 1
  const list = useRef<HTMLDivElement | null>(null)
  useEffect(() => {
    const box = list.current
    if (box === null || last < 0) return
    const top = last * ROW_PX
    if (top < box.scrollTop || top > box.scrollTop + box.clientHeight - ROW_PX * 2)
      box.scrollTop = top - box.clientHeight / 2
  }, [last])
  if (trace.events.length === 0) return <p className="rh-soft">Nothing was said in this session.</p>
  return (
    <VirtualList ref={list} count={trace.events.length} rowPx={ROW_PX} label="Events">
      {i => (
        <EventRow event={trace.events[i]} current={i === last} ahead={i > last} onGo={at => clock.seek(at)} />
      )}
    </VirtualList>
  )
}

function EventRow(props: {
  event: TimedEvent
  current: boolean
  ahead: boolean
  onGo: (atNs: number) => void
}) {
  const { event, current, ahead, onGo } = props
  const level = levelOf(event.event)
  const said = sayEvent(event.event)
  return (
    <button
      type="button"
      className={`rh-row rh-event${current ? ' rh-current' : ''}${ahead ? ' rh-ahead' : ''}`}
      aria-current={current ? 'true' : undefined}
      title={said}
      onClick={() => onGo(event.atNs)}
    >
      <span className="rh-soft rh-figures">{sayClock(event.atNs)}</span>
      <span className={`rh-level rh-level-${level}`} aria-hidden="true">
        {levelMarks[level]}
      </span>
      <span className={event.event.kind === 'phase' ? 'rh-strong rh-cut-2' : 'rh-cut-2'}>
        <span className="rh-hidden">{levelNames[level]}</span>
        {said}
      </span>
    </button>
  )
}
