import type { Bench } from '../../../shared/model/bench.ts'
import type { AppClient } from '../../api/client.ts'
import { summaryOf } from '../../diagnose/summary.ts'
import type { KeptDiagnosis } from '../../diagnose/use-diagnosis.ts'
import { findOf, writtenWords } from '../../diagnose/use-find.ts'

/**
 * Whether what Diagnose had advised was it, said after a write that went through; see `adviceAfterWrite`.
 * @returns what it means for the next diagnosis, once it is in the logbook; nothing where nothing was written
 */
export async function settleAfterWrite(
  client: Pick<AppClient, 'call'>,
  bench: Bench | undefined,
  kept: KeptDiagnosis,
  isThat: boolean,
): Promise<string> {
  const { asked, diagnosis } = kept.current ?? {}
  if (asked === undefined || diagnosis?.next.do !== 'repair' || bench === undefined) return ''
  if (!isThat) {
    kept.current = { asked: { ...asked, fromWrite: undefined }, diagnosis }
    return ''
  }
  const ids = diagnosis.next.members
  const find = findOf(bench, diagnosis, ids, asked)
  await client.call('diagnose.ended', find)
  const tried = asked.tried.map(one => one.label)
  // The Diagnose view says what it was, too, and can take it back.
  kept.current = {
    asked: { ...asked, helped: { ids, find, summary: summaryOf(diagnosis, ids, tried, asked) } },
    diagnosis,
  }
  return writtenWords(find)
}
