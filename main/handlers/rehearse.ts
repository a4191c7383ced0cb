import type { RehearsalReply } from '../../shared/api/contract.ts'
import { ProblemsError } from '../../shared/api/serve.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import type { RehearsalRequest } from '../../shared/rehearse/report.ts'
import { packTrace } from '../../shared/sim/pack.ts'

/** `rehearse.run`: the rehearsal is computed at once and whole; the window plays it back. */
export function runRehearsal(request: RehearsalRequest): RehearsalReply {
  const rehearsed = rehearse(request, { nowMs: () => performance.now() })
  if (!rehearsed.ok) throw new ProblemsError(rehearsed.problems)
  const { report, trace, flash } = rehearsed.value
  return { report, trace: packTrace(trace), flash }
}
