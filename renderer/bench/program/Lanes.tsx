import { useEffect, useRef, useState } from 'react'
import { Notice, ProblemList } from '../../ui/Notice.tsx'
import { Batch } from './Batch.tsx'
import type { ProgramClient } from './client.ts'
import type { WriteDesk } from './desk.ts'
import { LaneCard } from './LaneCard.tsx'
import type { AfterHelp } from './LaneEnd.tsx'
import { keepTone, recallTone, useTones } from './tone.ts'
import { useWrites } from './use-desk.ts'

export interface LanesProps extends AfterHelp {
  readonly desk: WriteDesk
  readonly client: ProgramClient
  readonly memory: Pick<Storage, 'getItem' | 'setItem'>
}

const headingOf = (isWriting: boolean, isBatch: boolean): string =>
  isWriting ? 'Writing now' : isBatch ? 'Waiting for a receiver' : 'What came of it'

/** Writes that run, up to eight side by side, and those that have ended and were not closed. */
export function Lanes(props: LanesProps) {
  const { desk, memory } = props
  const { lanes, batch, isLost } = useWrites(desk)
  const [hasTone, setTone] = useState(() => recallTone(memory))
  useTones(hasTone, lanes)
  const heading = useHeadingOfNews(lanes.length + (batch?.running ? 1 : 0))
  if (lanes.length === 0 && batch === undefined) return null
  return (
    <section className="pg-lanes" aria-label="Writes">
      <header className="pg-lanes-head">
        <h2 ref={heading} tabIndex={-1}>
          {headingOf(
            lanes.some(lane => lane.end === null),
            batch?.running === true,
          )}
        </h2>
        <label className="ui-check">
          <input
            type="checkbox"
            checked={hasTone}
            onChange={e => {
              setTone(e.target.checked)
              keepTone(memory, e.target.checked)
            }}
          />
          A tone when one has ended
        </label>
      </header>
      {isLost && (
        <Notice kind="danger">
          The workbench does not answer. Whether the write goes on is not known: leave everything connected,
          and do not switch the receiver off. Start the workbench again; it tells then what the receiver
          holds.
        </Notice>
      )}
      {batch !== undefined && <Batch batch={batch} desk={desk} />}
      <div className={lanes.length > 1 ? 'pg-lane-grid pg-lane-grid-many' : 'pg-lane-grid'}>
        {/* The newest first: what is live is not looked for below what has ended. */}
        {lanes.toReversed().map(lane => (
          <LaneCard key={lane.lane} {...props} lane={lane} isNarrow={lanes.length > 2} />
        ))}
      </div>
    </section>
  )
}

/** What the machine refused to do for a write. */
export function DeskProblems({ desk }: { readonly desk: WriteDesk }) {
  const { problems } = useWrites(desk)
  if (problems.length === 0) return null
  return <ProblemList problems={problems} onClose={() => desk.clearProblems()} />
}

/** When a write begins, eyes and keyboard go to it: the button that began it is gone. */
function useHeadingOfNews(count: number) {
  const heading = useRef<HTMLHeadingElement>(null)
  const before = useRef(count)
  useEffect(() => {
    if (count > before.current) heading.current?.focus()
    before.current = count
  }, [count])
  return heading
}
