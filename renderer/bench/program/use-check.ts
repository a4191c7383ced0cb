import { useEffect, useMemo, useState } from 'react'
import type { CautionAnswers } from '../../../shared/bench-run/check.ts'
import type { WritePlanInput } from '../../../shared/bench-run/plan.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { problemsOf } from '../../ui/Notice.tsx'
import type { ProgramClient, WriteCheck } from './client.ts'

export interface Checked {
  /** Of this very plan with these answers; undefined while it is asked for. */
  readonly check: WriteCheck | undefined
  readonly problems: readonly Problem[]
}

const NOTHING: Checked = { check: undefined, problems: [] }
/** Whoever types a rate is not asked about at each digit. */
const WAIT_MS = 120

/**
 * What holds and what does not, asked anew whenever something changes that it rests on. While a new answer is on its
 * way the last one is shown, but only of the same plan with other answers; never that of another plan.
 * @param stamp of what else may have changed: ports, rehearsals
 */
export function useCheck(
  client: ProgramClient,
  plan: WritePlanInput | undefined,
  cautions: CautionAnswers,
  stamp: string,
): Checked {
  const [got, setGot] = useState<Checked & { readonly of: WritePlanInput }>()
  // biome-ignore lint/correctness/useExhaustiveDependencies: the stamp stands for what the machine looks at by itself
  useEffect(() => {
    if (plan === undefined) return
    let isCurrent = true
    const timer = setTimeout(() => {
      client.call('write.check', { plan, cautions }).then(
        check => isCurrent && setGot({ of: plan, check, problems: [] }),
        error => isCurrent && setGot({ of: plan, check: undefined, problems: problemsOf(error) }),
      )
    }, WAIT_MS)
    return () => {
      isCurrent = false
      clearTimeout(timer)
    }
  }, [client, plan, cautions, stamp])
  return useMemo(() => (got !== undefined && got.of === plan ? got : NOTHING), [got, plan])
}
