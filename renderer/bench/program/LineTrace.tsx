import { useEffect, useMemo, useRef, useState } from 'react'
import type { LaneReport } from '../../../shared/bench-run/lane.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import type { Trace } from '../../../shared/sim/trace.ts'
import { TraceSoFar, withStandingPhase } from '../../../shared/sim/trace-so-far.ts'
import { PlaybackClock } from '../../rehearse/playback/clock.ts'
import { FrameTable } from '../../rehearse/playback/FrameTable.tsx'
import { TimeLineController } from '../../rehearse/timeline/controller.ts'
import { Overview } from '../../rehearse/timeline/Overview.tsx'
import { makeTraffic } from '../../rehearse/timeline/session.ts'
import { TimeLine } from '../../rehearse/timeline/TimeLine.tsx'
import { ProblemList, problemsOf } from '../../ui/Notice.tsx'
import { StatusGlyph } from '../../ui/StatusMark.tsx'
import type { ProgramClient } from './client.ts'
import { fetchTrace } from './fetch-trace.ts'
import { traceTimeOf } from './strip.ts'
import { differenceWords, severitySaid, stepWords } from './words.ts'
import '../../rehearse/rehearse.css'

interface LineTraceProps {
  readonly client: ProgramClient
  readonly lane: LaneReport
  /** Where somebody wants to look. */
  readonly jump: Jump | undefined
}

export interface Jump {
  /** Since the session began. */
  readonly atMs: number
  /** Which jump it is, so that the same place can be gone to again. */
  readonly nth: number
}

const EVERY_MS = 1500
/** A long trace takes long to draw anew: most of the time is left to the write. */
const REST = 6

/** What went over the line, in the drawings of the Rehearse view but on plain ground: this is real. */
export function LineTrace({ client, lane: report, jump }: LineTraceProps) {
  const { lane } = report
  const isLive = report.end === null
  const [trace, setTrace] = useState<Trace | null>()
  const [problems, setProblems] = useState<readonly Problem[]>([])
  useEffect(() => {
    const soFar = new TraceSoFar()
    let isCurrent = true
    let timer: ReturnType<typeof setTimeout> | undefined
    const ask = async () => {
      const askedAtMs = performance.now()
      try {
        const isThere = await fetchTrace(client, lane, soFar, () => isCurrent)
        if (!isCurrent) return
        setTrace(isThere ? withStandingPhase(soFar.whole()) : null)
        setProblems([])
      } catch (error) {
        if (isCurrent) setProblems(problemsOf(error))
      }
      if (isCurrent && isLive)
        timer = setTimeout(ask, Math.max(EVERY_MS, REST * (performance.now() - askedAtMs)))
    }
    void ask()
    return () => {
      isCurrent = false
      clearTimeout(timer)
    }
  }, [client, lane, isLive])
  if (problems.length > 0) return <ProblemList problems={problems} />
  if (trace === undefined) return <p className="pg-soft">Fetching what went over the line…</p>
  if (trace === null || trace.lanes.length === 0)
    return <p className="pg-soft">Nothing has gone over the line yet.</p>
  return <TracePicture trace={trace} follow={isLive} marked={report} jump={jump} />
}

interface TracePictureProps {
  readonly trace: Trace
  /** The play head stays at the newest, unless somebody has moved it. */
  readonly follow: boolean
  /** A write whose differences from its rehearsal are marked at their time. */
  readonly marked?: Pick<LaneReport, 'differs' | 'steps'>
  readonly jump?: Jump | undefined
}

export function TracePicture({ trace, follow, marked, jump }: TracePictureProps) {
  const seenNs = useRef<number>(undefined)
  const controller = useMemo(() => {
    const clock = new PlaybackClock(
      trace.endNs,
      trace.events.map(event => event.atNs),
    )
    return new TimeLineController(makeTraffic(trace, undefined), clock)
  }, [trace])
  useEffect(() => {
    const { clock } = controller
    // A new picture of the same line: whoever looks at an earlier moment goes on looking at it.
    const before = seenNs.current
    clock.seek(before === undefined && follow ? clock.endNs : (before ?? 0))
    const atStart = clock.atNs
    return () => {
      seenNs.current = clock.atNs === atStart && before === undefined ? undefined : clock.atNs
    }
  }, [controller, follow])
  const atOf = useMemo(() => traceTimeOf(trace, marked?.steps ?? []), [trace, marked])
  const jumped = useRef(0)
  useEffect(() => {
    if (jump === undefined || jump.nth === jumped.current) return
    jumped.current = jump.nth
    controller.clock.seek(atOf(jump.atMs))
  }, [controller, jump, atOf])
  return (
    <div className="pg-line-trace">
      {marked !== undefined && marked.differs.length > 0 && (
        <div
          className="pg-trace-marks"
          role="img"
          aria-label={`${marked.differs.length} marks where it differs from the rehearsal`}
        >
          {marked.differs.map(({ atMs, kind, severity, step }, i) => (
            <svg
              // biome-ignore lint/suspicious/noArrayIndexKey: marks are in order of time
              key={`${i} ${kind}`}
              className={`pg-mark pg-mark-${severity}`}
              style={{ left: `${((atOf(atMs) / trace.endNs) * 100).toFixed(2)}%` }}
              viewBox="0 0 12 12"
              aria-hidden="true"
            >
              <title>{`${differenceWords[kind]}, ${stepWords[step]}`}</title>
              <StatusGlyph status={severitySaid[severity].status} />
            </svg>
          ))}
        </div>
      )}
      <Overview controller={controller} />
      <TimeLine controller={controller} />
      <FrameTable controller={controller} />
    </div>
  )
}
