import type { Problem, Result } from '../model/problem.ts'
import { succeeded } from '../model/problem.ts'
import type { Outcome } from '../procedure/effects.ts'
import { OUTCOMES } from '../procedure/effects.ts'
import { dice } from '../sim/dice.ts'
import type { CutPoint } from '../sim/world.ts'
import { rehearse } from './rehearse.ts'
import type { RehearsalRequest } from './report.ts'

/**
 * The exhaustive sweep: the power is cut at every effect of the procedure, and before, during and after every flash
 * operation of the receiver, one cut a session; each must end in an outcome whose recovery works.
 */
export interface SweepReport {
  readonly sessions: number
  readonly effects: number
  readonly flashOperations: number
  readonly outcomes: Readonly<Record<Outcome, number>>
  /** Cuts whose recovery did not end in an updated receiver, to be looked at again with this seed. */
  readonly failures: readonly SweepFailure[]
}

export interface SweepFailure {
  readonly cut: CutPoint
  readonly seed: number
  readonly outcome: Outcome
  readonly recovery: Outcome | 'none'
}

export interface SweepOptions {
  /** Every n-th cut only, for a first look; 1 is all of them. */
  readonly every?: number
  readonly onProgress?: (done: number, total: number) => void
}

const WHEN = ['before', 'during', 'after'] as const

/** Every place at which power can fail in a session with so many effects and flash operations. */
export function cutPoints(effects: number, flashOperations: number): CutPoint[] {
  const points: CutPoint[] = []
  for (let index = 0; index < effects; index++) points.push({ at: 'effect', index })
  for (let index = 0; index < flashOperations; index++)
    for (const when of WHEN) points.push({ at: 'flash-op', index, when })
  return points
}

/** @returns the problems of the request, where it cannot be rehearsed at all */
export function sweepCuts(request: RehearsalRequest, options: SweepOptions = {}): Result<SweepReport> {
  const clean = rehearse(request)
  if (!clean.ok) return clean
  const { effects, flashOperations } = clean.value
  const points = cutPoints(effects, flashOperations).filter((_, i) => i % (options.every ?? 1) === 0)
  const outcomes = Object.fromEntries(OUTCOMES.map(o => [o, 0])) as Record<Outcome, number>
  const failures: SweepFailure[] = []
  const problems: Problem[] = []
  points.forEach((cut, i) => {
    const done = rehearse(request, { cut })
    if (!done.ok) return problems.push(...done.problems)
    const { outcome, recovery } = done.value.report
    outcomes[outcome]++
    const recovered = recovery?.rehearsed.outcome ?? 'none'
    if (outcome !== 'updated' && recovered !== 'updated')
      failures.push({ cut, seed: request.seed, outcome, recovery: recovered })
    options.onProgress?.(i + 1, points.length)
  })
  if (problems.length > 0) return { ok: false, problems }
  return succeeded({ sessions: points.length, effects, flashOperations, outcomes, failures })
}

export interface PairsReport {
  readonly pairs: number
  /** Outcomes of the first session of each pair. */
  readonly outcomes: Readonly<Record<Outcome, number>>
  readonly failures: readonly PairFailure[]
}

export interface PairFailure {
  readonly cut: CutPoint
  readonly cutAgain: CutPoint
  readonly seed: number
  readonly outcome: Outcome
  readonly recovery: Outcome | 'none'
}

/**
 * Pairs of cuts: the power fails in the session, and once more while the receiver is being brought back by cable.
 * There are too many for all, so `pairs` of them are drawn with dice that the request's seed decides.
 * @param pairs how many, from 1
 */
export function sweepPairs(request: RehearsalRequest, pairs: number): Result<PairsReport> {
  const first = rehearse(request)
  if (!first.ok) return first
  const back = rehearse({ ...request, route: 'cable' })
  if (!back.ok) return back
  const draw = dice(request.seed, 'pairs-of-cuts')
  const one = (points: readonly CutPoint[]) => points[Math.floor(draw.between(0, points.length))]
  const firstPoints = cutPoints(first.value.effects, first.value.flashOperations)
  const backPoints = cutPoints(back.value.effects, back.value.flashOperations)
  const outcomes = Object.fromEntries(OUTCOMES.map(o => [o, 0])) as Record<Outcome, number>
  const failures: PairFailure[] = []
  for (let i = 0; i < pairs; i++) {
    const cut = one(firstPoints)
    const cutAgain = one(backPoints)
    const done = rehearse(request, { cut, cutAgain })
    if (!done.ok) return done
    const { outcome, recovery } = done.value.report
    outcomes[outcome]++
    const recovered = recovery?.rehearsed.outcome ?? 'none'
    if (outcome !== 'updated' && recovered !== 'updated')
      failures.push({ cut, cutAgain, seed: request.seed, outcome, recovery: recovered })
  }
  return succeeded({ pairs, outcomes, failures })
}
