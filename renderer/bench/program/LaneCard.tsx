import { useMemo, useRef, useState } from 'react'
import { repeatsOfRequests, repeatWords } from '../../../shared/bench-run/effort.ts'
import { type LaneReport, MOST_NOTES } from '../../../shared/bench-run/lane.ts'
import { imageWords } from '../../../shared/model/image-words.ts'
import { Button } from '../../ui/Button.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'
import { useReturnFocus } from '../../ui/use-return-focus.ts'
import { Ask } from './Ask.tsx'
import type { ProgramClient } from './client.ts'
import type { WriteDesk } from './desk.ts'
import { type AfterHelp, LaneEnd } from './LaneEnd.tsx'
import { type Jump, LineTrace } from './LineTrace.tsx'
import { StepStrip } from './StepStrip.tsx'
import { stripOf } from './strip.ts'
import { useWrites } from './use-desk.ts'
import { outcomeSaid, progressWords, sayBytes, saySeconds, shareOf, stepWords, waitWords } from './words.ts'

export interface LaneCardProps extends AfterHelp {
  readonly lane: LaneReport
  readonly desk: WriteDesk
  readonly client: ProgramClient
  /** One of many: what is not needed at a glance is folded away. */
  readonly isNarrow?: boolean
}

/** One write: while it runs what it does, and then what came of it. */
export function LaneCard(props: LaneCardProps) {
  const { lane, desk, client } = props
  const [isTraced, setTraced] = useState(false)
  const [jump, setJump] = useState<Jump>()
  const line = useRef<HTMLDetailsElement>(null)
  const show = (atMs: number) => {
    setTraced(true)
    setJump(before => ({ atMs, nth: (before?.nth ?? 0) + 1 }))
    line.current?.scrollIntoView({ block: 'nearest' })
  }
  const strip = useMemo(() => stripOf(lane.rehearsed, lane), [lane])
  const isLive = lane.end === null
  const title = `${lane.receiver?.nickname ?? 'A receiver'}, ${lane.port.label}`
  return (
    <article className={isLive ? 'pg-lane pg-lane-live' : 'pg-lane'} aria-label={title}>
      <header className="pg-lane-head">
        <div>
          <h3>{lane.receiver?.nickname ?? 'A receiver on no bench'}</h3>
          <p className="pg-small pg-soft">
            through <strong>{lane.port.label}</strong> · {imageWords(lane.image)},{' '}
            {sayBytes(lane.image.bytes)} · {lane.dialect}
          </p>
        </div>
        <Standing lane={lane} />
      </header>
      {isLive ? <Running lane={lane} desk={desk} /> : <LaneEnd {...props} />}
      {isLive || props.isNarrow !== true ? (
        <StepStrip strip={strip} hasReal onShow={show} />
      ) : (
        <details className="pg-trace">
          <summary>Its steps beside the rehearsal’s</summary>
          <StepStrip strip={strip} hasReal onShow={show} />
        </details>
      )}
      <Notes lane={lane} isOpen={isLive && props.isNarrow !== true} />
      <details
        ref={line}
        className="pg-trace"
        open={isTraced}
        onToggle={e => setTraced(e.currentTarget.open)}
      >
        <summary>Look at the line</summary>
        {isTraced && <LineTrace client={client} lane={lane} jump={jump} />}
      </details>
    </article>
  )
}

function Standing({ lane }: { readonly lane: LaneReport }) {
  if (lane.end === null) return <strong className="pg-live-word">Live</strong>
  const { word, status } = outcomeSaid[lane.end.outcome]
  return <StatusMark status={status}>{word}</StatusMark>
}

function Running({ lane, desk }: { readonly lane: LaneReport; readonly desk: WriteDesk }) {
  const [isAsking, setAsking] = useState(false)
  const { isLost } = useWrites(desk)
  const opener = useReturnFocus<HTMLButtonElement>(isAsking)
  const share = shareOf(lane)
  // An attempt that has failed counts as one more while the next is waited for.
  const effort = { attempts: lane.attempt + (lane.step === 'pause' ? 1 : 0), retries: lane.retries }
  return (
    <div className="pg-running">
      <div className="pg-now">
        <strong>{stepWords[lane.step]}</strong>
        <span>
          {lane.attempt > 1 && `attempt ${lane.attempt} · `}
          {repeatsOfRequests(effort) > 0 && `${repeatWords(effort)} · `}
          {saySeconds(lane.elapsedMs)} so far
        </span>
      </div>
      <progress aria-label={stepWords[lane.step]} max={1} value={share} />
      <p className="pg-figures">{waitWords(lane) ?? (progressWords(lane) || ' ')}</p>
      {isAsking && !isLost ? (
        <Ask
          question="Cancelling is safe at every moment, and it tells you then what state the receiver is in. What is erased or half written by then has to be written again."
          yes="Cancel the write"
          no="Let it go on"
          onYes={() => {
            desk.cancel(lane.lane)
            setAsking(false)
          }}
          onNo={() => setAsking(false)}
        />
      ) : (
        // With nobody there to hear it, it would be a promise.
        !isLost && (
          <Button ref={opener} onClick={() => setAsking(true)}>
            Cancel…
          </Button>
        )
      )}
    </div>
  )
}

const LAST_NOTES = 3
/** The machine tells no more than these. */
const allNotes = (count: number) =>
  count < MOST_NOTES ? `All messages (${count})` : `The last ${MOST_NOTES} messages`

/** The newest of what it has said, and all of it behind that. */
function Notes({ lane, isOpen }: { readonly lane: LaneReport; readonly isOpen: boolean }) {
  const newest = lane.notes.slice(-LAST_NOTES)
  if (lane.notes.length === 0) return null
  return (
    <>
      {isOpen && <NoteList notes={newest} label="Newest messages" />}
      {(!isOpen || lane.notes.length > LAST_NOTES) && (
        <details className="pg-all-notes">
          <summary>{allNotes(lane.notes.length)}</summary>
          <NoteList notes={lane.notes} label="All messages" />
        </details>
      )}
    </>
  )
}

const noteWords = { info: '', good: 'Good: ', caution: 'Look out: ', danger: 'Problem: ' } as const

function NoteList({ notes, label }: { readonly notes: LaneReport['notes']; readonly label: string }) {
  return (
    <ol className="pg-notes" aria-label={label}>
      {notes.map(({ atMs, level, text }, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: messages never change places
        <li key={`${atMs} ${i}`} className={`pg-note-${level}`}>
          <span className="pg-soft">{saySeconds(atMs)}</span>
          <span>
            {noteWords[level] !== '' && <strong>{noteWords[level]}</strong>}
            {text}
          </span>
        </li>
      ))}
    </ol>
  )
}
