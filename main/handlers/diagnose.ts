import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { diagnoseMethods } from '../../shared/api/diagnose.ts'
import { need } from '../../shared/api/serve.ts'
import type { DiagnosisRequest } from '../../shared/diagnose/report.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { Simulate } from '../work/simulate.ts'

/** What was found before, and what worked at the second attempt by itself, for a bench. */
export type CountsFor = (bench: Bench) => Promise<Pick<DiagnosisRequest, 'counts' | 'secondTries'>>

/**
 * `diagnose.run`: causes, and what to do next.
 * @param countsFor where the request brings no counts of its own; without it there are none
 */
export function diagnoseHandlers(
  simulate: Simulate,
  countsFor?: CountsFor,
): Pick<Handlers<AppContract>, keyof typeof diagnoseMethods> {
  return {
    'diagnose.run': async request => {
      const { counts, secondTries } = request
      const hasOwn = Object.keys(counts).length + secondTries.length > 0
      const known =
        hasOwn || countsFor === undefined ? { counts, secondTries } : await countsFor(request.bench)
      return need(await simulate('diagnose', { ...request, ...known }))
    },
  }
}
