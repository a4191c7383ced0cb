import { useCallback, useEffect, useRef, useState } from 'react'
import type { CardProgress, StagedReply, StagePlanned } from '../../../shared/api/card.ts'
import type { AppContract } from '../../../shared/api/contract.ts'
import type { RequestOf } from '../../../shared/api/define.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { problemsOf } from '../../ui/Notice.tsx'
import { type Sample, withSample } from './progress.ts'
import type { CardClient } from './use-volumes.ts'

export type PlanWish = RequestOf<AppContract, 'card.plan'>
export type StageWish = Omit<RequestOf<AppContract, 'card.stage'>, 'jobId'>

export type StagingPhase =
  | { readonly is: 'asking' }
  | {
      readonly is: 'running'
      readonly progress: CardProgress | undefined
      readonly samples: readonly Sample[]
      readonly stopping: boolean
    }
  | { readonly is: 'done'; readonly staged: StagedReply }
  | { readonly is: 'failed'; readonly problems: readonly Problem[] }

/** Other windows have jobs too. */
const newJobId = (): string => crypto.getRandomValues(new Uint32Array(4)).join('-')

/** One staging after another, each with its progress and the way to stop it. */
export function useStaging(client: CardClient) {
  const [phase, setPhase] = useState<StagingPhase>({ is: 'asking' })
  const jobId = useRef<string>(undefined)
  useEffect(
    () =>
      client.on('card.progress', progress => {
        if (progress.jobId !== jobId.current) return
        setPhase(before => {
          if (before.is !== 'running') return before
          const sample = { atMs: performance.now(), done: progress.done }
          return { ...before, progress, samples: withSample(before.samples, sample) }
        })
      }),
    [client],
  )
  const start = useCallback(
    async (wish: StageWish): Promise<StagedReply | undefined> => {
      const id = newJobId()
      jobId.current = id
      setPhase({ is: 'running', progress: undefined, samples: [], stopping: false })
      try {
        const staged = await client.call('card.stage', { ...wish, jobId: id })
        setPhase({ is: 'done', staged })
        return staged
      } catch (error) {
        setPhase({ is: 'failed', problems: problemsOf(error) })
        return undefined
      }
    },
    [client],
  )
  const stop = useCallback(() => {
    if (jobId.current === undefined) return
    setPhase(before => (before.is === 'running' ? { ...before, stopping: true } : before))
    // Where it does not arrive, the staging itself says how it ended.
    void client.call('card.cancel', { jobId: jobId.current }).catch(() => {})
  }, [client])
  const askAgain = useCallback(() => setPhase({ is: 'asking' }), [])
  return { phase, start, stop, askAgain }
}

export interface Planned {
  readonly plan: StagePlanned | undefined
  readonly problems: readonly Problem[]
  /** Something was changed that the answer does not know of yet. */
  readonly pending: boolean
}

const SETTLED_MS = 200
const NOTHING: Planned = { plan: undefined, problems: [], pending: false }

/**
 * What staging would write, asked for a moment after the last change.
 * @param wish undefined while something is missing
 * @param look what else the answer hangs on, such as the free space
 */
export function usePlan(client: CardClient, wish: PlanWish | undefined, look: string): Planned {
  const [planned, setPlanned] = useState<Planned>(NOTHING)
  // biome-ignore lint/correctness/useExhaustiveDependencies: `look` is what the machine sees and the wish does not say
  useEffect(() => {
    if (wish === undefined) {
      setPlanned(NOTHING)
      return
    }
    let isOld = false
    setPlanned(before => ({ ...before, pending: true }))
    const timer = setTimeout(async () => {
      const next = await ask(client, wish)
      if (!isOld) setPlanned(next)
    }, SETTLED_MS)
    return () => {
      isOld = true
      clearTimeout(timer)
    }
  }, [client, wish, look])
  return planned
}

async function ask(client: CardClient, wish: PlanWish): Promise<Planned> {
  try {
    const plan = await client.call('card.plan', wish)
    return { plan, problems: plan.problems, pending: false }
  } catch (error) {
    return { plan: undefined, problems: problemsOf(error), pending: false }
  }
}
