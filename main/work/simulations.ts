import type { RehearsalReply } from '../../shared/api/rehearse.ts'
import type { Rehearsed } from '../../shared/bench-run/check.ts'
import type { Chosen } from '../../shared/bench-run/chosen.ts'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import { planWrite } from '../../shared/bench-run/ready.ts'
import { type StoredRecovery, storedRecovery } from '../../shared/bench-run/recovery.ts'
import { rehearseWrite } from '../../shared/bench-run/rehearse-write.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { diagnose } from '../../shared/diagnose/diagnose.ts'
import type { Exercise, PracticeRequest } from '../../shared/diagnose/exercise.ts'
import { practise } from '../../shared/diagnose/practise.ts'
import type { Diagnosis, DiagnosisRequest } from '../../shared/diagnose/report.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import { type Result, succeeded } from '../../shared/model/problem.ts'
import { type RehearseOptions, rehearse } from '../../shared/rehearse/rehearse.ts'
import type { RehearsalRequest } from '../../shared/rehearse/report.ts'
import { makeRunbook } from '../../shared/runbook/make.ts'
import { planKey } from '../../shared/runbook/plan-key.ts'
import { recoveriesFor } from '../../shared/runbook/recoveries.ts'
import type { Runbook } from '../../shared/runbook/schema.ts'
import { packTrace } from '../../shared/sim/pack.ts'
import { tableKeeper, thoughtKeeper } from './table-keeper.ts'

/**
 * Everything that is worked out by simulating, as what is asked and what comes back: plain values both, so that it can
 * be done in another thread, for a receiver that is being written to meanwhile must not wait for it.
 */

/** What is asked. An image of the library has been put in its place as the file that it is. */
export interface SimulationAsks {
  readonly rehearse: RehearsalRequest
  readonly 'rehearse-write': {
    readonly plan: WritePlan
    /** The way of writing; a dialect is data. */
    readonly chosen: Chosen
    readonly seed: number
    /** Of the port, in milliseconds. */
    readonly latencyMs: number
  }
  /** `plan` as it lies in the logbook, and what the session had announced. */
  readonly recover: { readonly plan: unknown; readonly events: readonly LogEvent[] }
  /** `asked` is the same plan as the window knows it, for its key. */
  readonly runbook: { readonly request: RehearsalRequest; readonly asked: RehearsalRequest }
  readonly diagnose: DiagnosisRequest
  readonly practise: PracticeRequest
}

export interface SimulationReplies {
  readonly rehearse: RehearsalReply
  readonly 'rehearse-write': { readonly rehearsed: Rehearsed; readonly trace: RehearsalReply['trace'] }
  readonly recover: StoredRecovery
  readonly runbook: Runbook
  readonly diagnose: Diagnosis
  readonly practise: Exercise
}

export type SimulationKind = keyof SimulationAsks

/** As it is handed to a worker. */
export interface SimulationTask<K extends SimulationKind = SimulationKind> {
  readonly kind: K
  readonly ask: SimulationAsks[K]
}

/** Is told how far a rehearsal is; what it throws breaks that off. */
export type Watch = NonNullable<RehearseOptions['watch']>

type Simulations = {
  readonly [K in SimulationKind]: (ask: SimulationAsks[K], watch?: Watch) => Result<SimulationReplies[K]>
}

/** The same table for everybody, so that a number means the same exercise on every computer. */
const PRACTICE_RECEIVER = 'wren-trainer'

/**
 * Carries simulations out in this thread. What is asked for again and again is kept.
 * @returns takes what is asked, and gives problems where it cannot be simulated at all
 */
export function simulations(tableFor = tableKeeper(), think = thoughtKeeper()) {
  const practiceBench = demoBench()
  const all: Simulations = {
    rehearse: rehearseWhole,
    'rehearse-write': rehearseThisWrite,
    recover: ({ plan, events }) => succeeded(storedRecovery(plan, events)),
    runbook: ({ request, asked }) => runbookFor(request, asked),
    diagnose: request => diagnose(request, { table: tableFor(request) }),
    practise: request =>
      practise(request, {
        ...{ bench: practiceBench, receiverId: PRACTICE_RECEIVER, consider: think },
        modelOf: route =>
          tableFor({
            ...{ bench: practiceBench, receiverId: PRACTICE_RECEIVER, route },
            // Every route has a symptom of its own; which one makes no difference to the table.
            symptom: route === 'cable' ? 'no-answer' : 'not-found',
          }),
      }),
  }
  return <K extends SimulationKind>(
    kind: K,
    ask: SimulationAsks[K],
    watch?: Watch,
  ): Result<SimulationReplies[K]> => all[kind](ask, watch)
}

function rehearseWhole(request: RehearsalRequest, watch?: Watch): Result<RehearsalReply> {
  const done = rehearse(request, { nowMs: () => performance.now(), ...(watch ? { watch } : {}) })
  if (!done.ok) return done
  const { report, trace, flash } = done.value
  return succeeded({ report, trace: packTrace(trace), flash })
}

function rehearseThisWrite(
  ask: SimulationAsks['rehearse-write'],
): Result<SimulationReplies['rehearse-write']> {
  const planned = planWrite(ask.plan, ask.chosen)
  if (!planned.ok) return planned
  const done = rehearseWrite(planned.value, { seed: ask.seed, latencyMs: ask.latencyMs })
  if (!done.ok) return done
  const { rehearsed, trace } = done.value
  return succeeded({ rehearsed, trace: packTrace(trace) })
}

function runbookFor(request: RehearsalRequest, asked: RehearsalRequest): Result<Runbook> {
  const done = rehearse(request)
  if (!done.ok) return done
  const { report, trace } = done.value
  const made = makeRunbook({ request, report, phases: trace.phases }, { key: planKey(asked) })
  if (!made.ok) return made
  return succeeded({ ...made.value, recovery: recoveriesFor(request, trace.flash) })
}
