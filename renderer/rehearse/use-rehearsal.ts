import { useCallback, useEffect, useMemo, useRef, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import type { RehearsalRequest } from '../../shared/rehearse/report.ts'
import { unpackTrace } from '../../shared/sim/pack.ts'
import type { RehearsalReply, RehearseClient } from './client.ts'
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

/** How asking for a rehearsal ended; `overtaken` where another one was asked for before it was there. */
export type RunEnd = 'shown' | 'problems' | 'cancelled' | 'overtaken'

/** A rehearsal that is being worked out. */
export interface UnderWay {
  readonly runId: string
  readonly isCancelling: boolean
}

export interface RehearsalState {
  readonly shown: Shown | undefined
  readonly problems: SortedProblems
  readonly busy: boolean
  readonly underWay: UnderWay | undefined
  /** The last one that was asked for was cancelled. */
  readonly wasCancelled: boolean
  /** A new session starts to play at the speed of the last one, where the person does not mind movement. */
  readonly run: (bench: Bench, receiverId: string | undefined, settings: Settings) => Promise<RunEnd>
  /** Gives up what is being worked out, if anything is: `run` ends with `cancelled` as soon as it has stopped. */
  readonly cancel: () => void
  /** Forgets what was wrong with the last one, and that it was cancelled. */
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
  const [underWay, setUnderWay] = useState<UnderWay>()
  const [wasCancelled, setWasCancelled] = useState(false)
  const latest = useRef<{ readonly runId: string; isCancelled: boolean }>(undefined)
  // Nobody should miss what plays while they look elsewhere.
  useEffect(() => () => kept.current?.clock.pause(), [kept])

  const giveUp = useCallback(
    // Where this does not arrive, the rehearsal itself is answered with why.
    (runId: string) => void client.call('rehearse.cancel', { runId }).catch(() => {}),
    [client],
  )
  const run = useCallback(
    async (bench: Bench, receiverId: string | undefined, settings: Settings): Promise<RunEnd> => {
      setWasCancelled(false)
      const asked = requestOf(bench, receiverId, settings)
      if ('problems' in asked) {
        setProblems(sortOwnProblems(asked.problems))
        return 'problems'
      }
      if (latest.current !== undefined) giveUp(latest.current.runId)
      const runId = crypto.randomUUID()
      const mine = { runId, isCancelled: false }
      latest.current = mine
      setUnderWay({ runId, isCancelling: false })
      setProblems(noProblems)
      try {
        const reply = await client.call('rehearse.run', { ...asked.request, runId })
        if (mine !== latest.current) return 'overtaken'
        if (mine.isCancelled) {
          // It was there before the wish arrived; nobody wants it any more.
          setWasCancelled(true)
          return 'cancelled'
        }
        kept.current = show(asked.request, sessionOf(reply, bench), kept.current)
        setShown(kept.current)
        return 'shown'
      } catch (error) {
        if (mine !== latest.current) return 'overtaken'
        const found = problemsOf(error)
        const isStopped = found.every(({ code }) => code === 'work.stopped')
        if (isStopped) setWasCancelled(true)
        else setProblems(sortProblems(found))
        return isStopped ? 'cancelled' : 'problems'
      } finally {
        if (mine === latest.current) {
          latest.current = undefined
          setUnderWay(undefined)
        }
      }
    },
    [client, kept, giveUp],
  )
  const cancel = useCallback(() => {
    if (latest.current === undefined) return
    latest.current.isCancelled = true
    giveUp(latest.current.runId)
    setUnderWay(before => before && { ...before, isCancelling: true })
  }, [giveUp])
  const clearProblems = useCallback(() => {
    setProblems(noProblems)
    setWasCancelled(false)
  }, [])
  return useMemo(
    () => ({
      shown,
      problems,
      busy: underWay !== undefined,
      underWay,
      wasCancelled,
      run,
      cancel,
      clearProblems,
    }),
    [shown, problems, underWay, wasCancelled, run, cancel, clearProblems],
  )
}

function sessionOf({ report, trace, flash }: RehearsalReply, bench: Bench): Session {
  return makeSession(report, unpackTrace(trace), flash, brownOut(bench, report.receiver.typeId))
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
