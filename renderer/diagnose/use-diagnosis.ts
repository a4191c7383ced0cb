import { useCallback, useEffect, useRef, useState } from 'react'
import type { Diagnosis, SymptomId } from '../../shared/diagnose/report.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { Problem } from '../../shared/model/problem.ts'
import type { Route } from '../../shared/model/units.ts'
import type { AppClient } from '../api/client.ts'
import { problemsOf } from '../ui/Notice.tsx'
import { type Looked, NOTHING_LOOKED } from './looks.ts'
import type { Summary } from './summary.ts'
import type { Find } from './use-find.ts'

/** Something that was put right without effect, or that cannot be put right now. */
export interface Tried {
  readonly ids: readonly string[]
  readonly label: string
}

/** All that the person has said so far. */
export interface Asked extends Looked {
  readonly receiverId: string
  readonly symptom: SymptomId | undefined
  readonly route: Route | undefined
  readonly imageId: string | undefined
  readonly tried: readonly Tried[]
  /** Cannot be put right now: no part at hand, no time. */
  readonly putOff: readonly Tried[]
  /** The write that failed, by its session, where that led here. */
  readonly fromWrite?: string | undefined
  /** Set once a repair has helped. */
  readonly helped:
    | { readonly ids: readonly string[]; readonly summary: Summary; readonly find: Find }
    | undefined
}

/** Where a diagnosis waits while another view is shown. */
export interface KeptDiagnosis {
  current: { readonly asked: Asked; readonly diagnosis: Diagnosis | undefined } | undefined
}

export const freshAsked = (receiverId: string): Asked => ({
  receiverId,
  symptom: undefined,
  route: undefined,
  imageId: undefined,
  ...NOTHING_LOOKED,
  tried: [],
  putOff: [],
  helped: undefined,
})

export interface DiagnosisDesk {
  readonly asked: Asked
  readonly diagnosis: Diagnosis | undefined
  readonly problems: readonly Problem[]
  /** What is shown does not know of the last thing that was said yet. */
  readonly isBehind: boolean
  readonly say: (change: Partial<Asked>) => void
}

/** Asks again after everything that is said; of two answers under way only the later one is shown. */
export function useDiagnosis(
  client: Pick<AppClient, 'call'>,
  bench: Bench,
  receiverId: string,
  kept: KeptDiagnosis,
): DiagnosisDesk {
  const [asked, setAsked] = useState<Asked>(() =>
    kept.current?.asked.receiverId === receiverId ? kept.current.asked : freshAsked(receiverId),
  )
  const [reply, setReply] = useState(() =>
    kept.current?.asked === asked && kept.current.diagnosis !== undefined
      ? { to: asked, diagnosis: kept.current.diagnosis }
      : undefined,
  )
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const latest = useRef(0)
  useEffect(() => {
    const mine = ++latest.current
    const { symptom, route, answers, confirmed, tried, putOff } = asked
    // Kept before the answer is there: somebody may look elsewhere at once.
    if (kept.current?.asked !== asked) kept.current = { asked, diagnosis: undefined }
    if (symptom === undefined) {
      // What was found out before is not about what is chosen next, even if that is the same.
      setReply(undefined)
      return
    }
    const imageId = bench.images.some(i => i.id === asked.imageId) ? asked.imageId : undefined
    const request = {
      bench,
      receiverId,
      symptom,
      answers,
      confirmed: [...confirmed],
      tried: tried.flatMap(t => t.ids),
      putOff: putOff.flatMap(t => t.ids),
    }
    const where = { ...(route ? { route } : {}), ...(imageId === undefined ? {} : { imageId }) }
    client.call('diagnose.run', { ...request, ...where }).then(
      diagnosis => {
        if (mine !== latest.current) return
        kept.current = { asked, diagnosis }
        setReply({ to: asked, diagnosis })
        setProblems([])
      },
      error => mine === latest.current && setProblems(problemsOf(error)),
    )
  }, [client, bench, receiverId, asked, kept])
  useEffect(
    () => () => {
      // An answer that is still under way belongs to nobody any more.
      latest.current++
    },
    [],
  )
  const say = useCallback((change: Partial<Asked>) => setAsked(before => ({ ...before, ...change })), [])
  // What was found out about another symptom would only confuse.
  const diagnosis = reply?.to.symptom === asked.symptom ? reply?.diagnosis : undefined
  return { asked, diagnosis, problems, isBehind: reply?.to !== asked && problems.length === 0, say }
}
