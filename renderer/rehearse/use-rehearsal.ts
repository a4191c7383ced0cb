import { useCallback, useEffect, useMemo, useRef, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import type { RehearsalRequest } from '../../shared/rehearse/report.ts'
import { unpackTrace } from '../../shared/sim/pack.ts'
import type { RehearseClient } from './client.ts'
import { PlaybackClock } from './playback/clock.ts'
import {
  noProblems,
  problemsOf,
  type SortedProblems,
  sortOwnProblems,
  sortProblems,
} from './setup/problems.ts'
import { requestOf, type Settings } from './setup/settings.ts'
import { TimeLineController } from './timeline/controller.ts'
import { makeSession, type Session } from './timeline/session.ts'

/** A rehearsal on the screen, with the bench that it was made of. */
export interface Shown {
  readonly request: RehearsalRequest
  readonly session: Session
  readonly bench: Bench
  readonly clock: PlaybackClock
  readonly timeLine: TimeLineController
}

export interface RehearsalState {
  readonly shown: Shown | undefined
  readonly problems: SortedProblems
  readonly busy: boolean
  /** A new session starts to play at the speed of the last one, where the person does not mind movement. */
  readonly run: (bench: Bench, receiverId: string | undefined, settings: Settings) => Promise<void>
  readonly clearProblems: () => void
}

/** Where the last rehearsal waits while another view is shown. */
export interface KeptRehearsal {
  current: Shown | undefined
}

/**
 * Runs rehearsals and keeps the last one, also while another view is shown. Of two started in a row only the later one
 * is shown.
 * @param receiverId of the receiver that is chosen when the view opens; the rehearsal of another one is not shown then
 */
export function useRehearsal(
  client: RehearseClient,
  kept: KeptRehearsal,
  receiverId: string | undefined,
): RehearsalState {
  const [shown, setShown] = useState(() =>
    kept.current?.session.report.receiver.id === receiverId ? kept.current : undefined,
  )
  const [problems, setProblems] = useState<SortedProblems>(noProblems)
  const [busy, setBusy] = useState(false)
  const latest = useRef(0)
  // Nobody should miss what plays while they look elsewhere.
  useEffect(() => () => kept.current?.clock.pause(), [kept])

  const run = useCallback(
    async (bench: Bench, receiverId: string | undefined, settings: Settings) => {
      const asked = requestOf(bench, receiverId, settings)
      if ('problems' in asked) {
        setProblems(sortOwnProblems(asked.problems))
        return
      }
      const mine = ++latest.current
      setBusy(true)
      setProblems(noProblems)
      try {
        const reply = await client.call('rehearse.run', asked.request)
        if (mine !== latest.current) return
        const { report, trace, flash } = reply
        const session = makeSession(
          report,
          unpackTrace(trace),
          flash,
          brownOut(bench, report.receiver.typeId),
        )
        kept.current = show(asked.request, session, kept.current)
        setShown(kept.current)
      } catch (error) {
        if (mine === latest.current) setProblems(sortProblems(problemsOf(error)))
      } finally {
        if (mine === latest.current) setBusy(false)
      }
    },
    [client, kept],
  )
  const clearProblems = useCallback(() => setProblems(noProblems), [])
  return useMemo(
    () => ({ shown, problems, busy, run, clearProblems }),
    [shown, problems, busy, run, clearProblems],
  )
}

const brownOut = (bench: Bench, typeId: string): number | undefined =>
  bench.catalogue.receiverTypes.find(type => type.id === typeId)?.supply.brownOutVolts

function show(request: RehearsalRequest, session: Session, before: Shown | undefined): Shown {
  const stops = session.trace.events.map(event => event.atNs)
  const clock = new PlaybackClock(session.trace.endNs, stops)
  clock.setSpeed(before?.clock.view().speed ?? 10)
  before?.clock.pause()
  if (!matchMedia('(prefers-reduced-motion: reduce)').matches) clock.play()
  return { request, session, bench: request.bench, clock, timeLine: new TimeLineController(session, clock) }
}
