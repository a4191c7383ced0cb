import { type Effort, effortIn } from '../bench-run/effort.ts'
import { afterwardsFor } from '../fit/afterwards.ts'
import type { Finding } from '../fit/rule.ts'
import { findings } from '../fit/rules.ts'
import { situationOf } from '../fit/situation.ts'
import { type Bench, findType } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { failed, oneOf, type Result, succeeded } from '../model/problem.ts'
import { typeNotKnown } from '../model/type-not-known.ts'
import { isKnown } from '../model/units.ts'
import { type Outcome, outcomeWords } from '../procedure/effects.ts'
import { type UpdateResult, updateReceiver } from '../procedure/update.ts'
import { applyFaults } from '../sim/faults.ts'
import type { ReceiverMemory } from '../sim/memory.ts'
import { type Moment, runSession, type SessionEnd } from '../sim/session.ts'
import { phaseWords, type Trace } from '../sim/trace.ts'
import { type CutPoint, calmWorld, type Setup } from '../sim/world.ts'
import { cautionsFor } from './cautions.ts'
import { type ReadyImage, readyImage } from './image.ts'
import { recoveryFor } from './recovery.ts'
import type { EventReport, FindingReport, RehearsalReport, RehearsalRequest } from './report.ts'
import { firmwareOf, judge, memoryOf, planFor, recordCount, stagingOf, tamperWith } from './table.ts'
import { whyItEndedSo } from './why.ts'

export interface Rehearsal {
  readonly report: RehearsalReport
  readonly trace: Trace
  /** All of program flash, as the session left it. */
  readonly flash: Uint8Array
  /** For the fault sweep: how many places there were at which power could have been cut. */
  readonly effects: number
  readonly flashOperations: number
}

export interface RehearseOptions {
  /** A clock, for the report's `wallMs` only. */
  readonly nowMs?: () => number
  /** Cut the power here: the fault sweep. */
  readonly cut?: CutPoint
  /** Cut it again here, in the recovery. */
  readonly cutAgain?: CutPoint
  /** Is told how far it is, before each effect; what it throws breaks the rehearsal off and is thrown on. */
  readonly watch?: (part: RehearsalPart, moment: Moment) => void
}

/** What is being worked out: the update itself, or how the receiver is brought back after it. */
export type RehearsalPart = 'update' | 'recovery'

/**
 * One rehearsal, from the choice to the outcome and the recovery.
 * @returns problems that name what to correct when the request cannot be rehearsed at all
 */
export function rehearse(request: RehearsalRequest, options: RehearseOptions = {}): Result<Rehearsal> {
  const nowMs = options.nowMs ?? (() => 0)
  const startedMs = nowMs()
  const subject = subjectOf(request.bench, request.receiverId)
  if (!subject.ok) return subject
  const { unit, type } = subject.value
  const image = readyImage(request.bench, type, request.image, request.dropOutside)
  if (!image.ok) return image
  const calm: Setup = { bench: request.bench, receiverId: unit.id, route: request.route, world: calmWorld }
  const faulted = applyFaults(calm, request.faults)
  if (!faulted.ok) return faulted
  const setup = { ...faulted.value, world: { ...faulted.value.world, cut: options.cut } }
  const memory = memoryOf(request.bench, type, unit)
  const countBefore = recordCount(memory)
  const { watch } = options
  const end = carryOut(setup, request.seed, type, image.value, memory, watch && (at => watch('update', at)))
  const outcome = judge(memory, countBefore)
  const flash = memory.program.octets.slice()
  const firmwareAfter = firmwareOf(memory)
  const recovery = recoveryFor({
    bench: request.bench,
    receiverId: unit.id,
    type,
    route: request.route,
    image: image.value,
    faults: request.faults,
    outcome,
    memory,
    seed: request.seed,
    ...(options.cutAgain ? { cutAgain: options.cutAgain } : {}),
    ...(watch ? { watch: at => watch('recovery', at) } : {}),
  })
  const report: RehearsalReport = {
    ...summary(request, setup, unit, type, image.value, end, outcome, firmwareAfter),
    wallMs: Math.round((nowMs() - startedMs) * 10) / 10,
    flashEqualsImage: holds(flash, image.value.payload),
    recovery,
  }
  return succeeded({
    report,
    trace: end.trace,
    flash,
    effects: end.effects,
    flashOperations: end.flashOperations,
  })
}

/** @returns the receiver and its type, or a problem that names what the bench has instead */
export function subjectOf(
  bench: Bench,
  receiverId: string,
): Result<{ unit: ReceiverUnit; type: ReceiverType }> {
  const unit = bench.receivers.find(r => r.id === receiverId)
  const type = unit && (findType(bench.catalogue, 'receiverTypes', unit.typeId) as ReceiverType | undefined)
  if (unit && type) return succeeded({ unit, type })
  if (unit && !isKnown(unit.typeId)) return failed(typeNotKnown(unit))
  return failed({
    code: 'bench.no-receiver',
    field: 'receiver',
    message: `There is no receiver called "${receiverId}" on this bench.`,
    expected: oneOf(
      bench.receivers.map(r => r.id),
      'a bench with receivers; this one has none',
    ),
  })
}

function carryOut(
  setup: Setup,
  seed: number,
  type: ReceiverType,
  image: ReadyImage,
  memory: ReceiverMemory,
  watch: ((moment: Moment) => void) | undefined,
): SessionEnd<UpdateResult> {
  const { card } = situationOf(setup.bench, setup.receiverId, setup.route, image.facts) ?? {}
  const staging = stagingOf(image, card?.folder ?? 'IMAGES')
  return runSession(
    {
      setup,
      seed,
      memory,
      image: image.facts,
      onStaged: tamperWith(setup.world.cardImage, setup.bench, type, image, staging),
      ...(watch ? { watch } : {}),
    },
    updateReceiver(planFor(setup.bench, type, setup.route, staging)),
  )
}

/** The image, and nothing but erased flash behind it. */
function holds(flash: Uint8Array, payload: Uint8Array): boolean {
  if (payload.length > flash.length) return false
  for (let i = 0; i < flash.length; i++)
    if (flash[i] !== (i < payload.length ? payload[i] : 0xff)) return false
  return true
}

function summary(
  request: RehearsalRequest,
  setup: Setup,
  unit: ReceiverUnit,
  type: ReceiverType,
  image: ReadyImage,
  end: SessionEnd<UpdateResult>,
  outcome: Outcome,
  firmwareAfter: string,
): Omit<RehearsalReport, 'wallMs' | 'flashEqualsImage' | 'recovery'> {
  const situation = situationOf(setup.bench, unit.id, setup.route, image.facts)
  return {
    outcome,
    route: request.route,
    seed: request.seed,
    simulatedMs: Math.round(end.endNs / 1e4) / 100,
    ...effortOf(end),
    sentence: `${unit.nickname}: ${lowerFirst(outcomeWords[outcome])}`,
    why: whyItEndedSo(outcome, end),
    receiver: {
      id: unit.id,
      nickname: unit.nickname,
      typeId: type.id,
      firmwareBefore: isKnown(unit.firmware) ? unit.firmware : 'not known',
      firmwareAfter,
      programAddress: type.flash.programAddress,
      programBytes: type.flash.programBytes,
      pageBytes: type.flash.pageBytes,
    },
    image: {
      name: image.name,
      version: isKnown(image.card.version) ? image.card.version : 'not known',
      bytes: image.payload.length,
      sha256: image.card.sha256,
      droppedOutsideBytes: image.droppedOutsideBytes,
    },
    faults: [...request.faults],
    findings: situation ? findings(situation).map(reportFinding) : [],
    events: end.trace.events.flatMap(e => reportEvent(e.atNs, e.event)),
    cautions: situation ? cautionsFor(situation) : [],
    afterwards: situation ? afterwardsFor(situation) : [],
  }
}

const lowerFirst = (text: string) => text.charAt(0).toLowerCase() + text.slice(1)
const effortOf = ({ result, trace }: SessionEnd<UpdateResult>): Effort =>
  result
    ? { retries: result.retries, attempts: result.attempts }
    : effortIn(trace.events.map(({ event }) => event))

/** A finding as it crosses the contract: what the rules say, without their functions. */
export const reportFinding = (f: Finding): FindingReport => ({
  rule: f.rule.id,
  claim: f.rule.claim,
  holds: f.holds,
  severity: f.rule.severity,
  enforcedBy: f.rule.enforcedBy,
  sentence: f.sentence,
  evidence: [...f.evidence],
  remedies: f.remedies.map(r => ({ id: r.id, label: r.label, minutes: r.minutes, reversible: r.reversible })),
  source: f.rule.source,
})

function reportEvent(atNs: number, event: Trace['events'][number]['event']): EventReport[] {
  const atMs = Math.round(atNs / 1e3) / 1e3
  switch (event.kind) {
    case 'progress':
      return []
    case 'phase':
      return [
        {
          atMs,
          kind: 'phase',
          level: 'info',
          phase: event.phase,
          text:
            event.attempt > 1
              ? `${phaseWords[event.phase]} (attempt ${event.attempt})`
              : phaseWords[event.phase],
        },
      ]
    case 'note':
      return [{ atMs, kind: 'note', level: event.level, text: event.text }]
    case 'retry':
      return [{ atMs, kind: 'retry', level: 'caution', text: event.text }]
    case 'attempt-failed':
      return [{ atMs, kind: 'attempt-failed', level: 'danger', text: event.text }]
    case 'fault':
      return [{ atMs, kind: 'fault', level: 'danger', text: event.text }]
    case 'refused':
      return [{ atMs, kind: 'refused', level: 'danger', text: `The ${event.by} refuses: ${event.text}` }]
    case 'outcome':
      return [{ atMs, kind: 'outcome', level: 'info', text: event.text }]
  }
}
