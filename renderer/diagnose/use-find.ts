import { useEffect, useState } from 'react'
import type { AppContract } from '../../shared/api/contract.ts'
import type { RequestOf } from '../../shared/api/define.ts'
import { DEMO_BENCH_NAME } from '../../shared/demo/bench.ts'
import type { Diagnosis } from '../../shared/diagnose/report.ts'
import { findingOf } from '../../shared/logbook/finding-of.ts'
import { RANDOM_OCTETS, timeSortedId } from '../../shared/logbook/session-id.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { Problem } from '../../shared/model/problem.ts'
import type { AppClient } from '../api/client.ts'
import { problemsOf } from '../ui/Notice.tsx'
import type { Asked } from './use-diagnosis.ts'

/** What goes into the logbook once a repair has helped. */
export type Find = RequestOf<AppContract, 'diagnose.ended'>

export function findOf(bench: Bench, diagnosis: Diagnosis, found: readonly string[], asked: Asked): Find {
  const id = timeSortedId(Date.now(), crypto.getRandomValues(new Uint8Array(RANDOM_OCTETS)))
  const { receiver } = diagnosis
  const said = { answers: asked.answers, tried: asked.tried.flatMap(t => t.ids) }
  return {
    receiverId: receiver.id,
    nickname: receiver.nickname,
    typeId: bench.receivers.find(r => r.id === receiver.id)?.typeId ?? null,
    benchName: bench.name,
    finding: findingOf(id, diagnosis, found, said),
  }
}

export interface Written {
  readonly isWritten: boolean
  readonly problems: readonly Problem[]
}
const NOT_YET: Written = { isWritten: false, problems: [] }

/** Writes the find into the logbook. To say it again, as when the view is shown again, changes nothing there. */
export function useFind(client: Pick<AppClient, 'call'>, find: Find | undefined): Written {
  const [written, setWritten] = useState(NOT_YET)
  useEffect(() => {
    setWritten(NOT_YET)
    if (find === undefined) return
    let isShown = true
    client.call('diagnose.ended', find).then(
      ({ problem }) => isShown && setWritten({ isWritten: true, problems: problem ? [problem] : [] }),
      error => isShown && setWritten({ isWritten: false, problems: problemsOf(error) }),
    )
    return () => {
      isShown = false
    }
  }, [client, find])
  return written
}

/** What it means for the next diagnosis. */
export function writtenWords({ benchName, finding }: Find): string {
  if (finding.isOneOf)
    return 'Written into your logbook. It does not change the odds, since several were put right at once.'
  return benchName === DEMO_BENCH_NAME
    ? 'Written into your logbook. It changes the odds on the demo bench alone.'
    : 'Written into your logbook. It changes the odds of the next diagnosis.'
}
