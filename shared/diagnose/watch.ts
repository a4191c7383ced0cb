import { linkMarginDb, WANTED_MARGIN_DB } from '../air/path.ts'
import { linkEndsOf } from '../fit/link-ends.ts'
import type { Side } from '../fit/rule.ts'
import type { RuleId } from '../fit/rule-ids.ts'
import { findings } from '../fit/rules.ts'
import { type Situation, situationOf } from '../fit/situation.ts'
import { findType } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { ProblemError } from '../model/problem.ts'
import { type FailureCode, OUTCOMES, type Outcome } from '../procedure/effects.ts'
import { type UpdateResult, updateReceiver } from '../procedure/update.ts'
import { benchImage } from '../rehearse/image.ts'
import { judge, memoryOf, planFor, recordCount, stagingOf, tamperWith } from '../rehearse/table.ts'
import { runSession, type SessionEnd } from '../sim/session.ts'
import type { Trace } from '../sim/trace.ts'
import type { Setup } from '../sim/world.ts'
import { carries } from '../wiring/feed.ts'
import type { SymptomId } from './report.ts'
import { TWIN } from './twin.ts'

/** What a person sees of one session on a twin's table: how it fails, and what does not look as it should. */
export interface Seen {
  /** How the first attempt ends; `none` when it goes through and the model can fly. */
  readonly symptom: SymptomId | 'none'
  readonly unsound: ReadonlySet<Observable>
  /** Rules that do not hold, with the side of the range where they have one. */
  readonly broken: ReadonlyMap<RuleId, Side | undefined>
}

/** What can be observed beside the rules, each true when all is well. */
export const OBSERVABLES = [
  'receiver-light',
  'light-stays',
  'card-seen',
  'image-passes',
  'line-quiet',
  'receiver-named',
  'volts-hold',
  'second-try',
  'old-firmware-runs',
  'signal-wire',
  'echo-back',
  'supply-wires',
  'air-free',
  'antenna-whole',
  'telemetry-on',
  'cable-clear',
  'bound-light',
  'telemetry-near',
  'range-near',
] as const
export type Observable = (typeof OBSERVABLES)[number]

/** @param setup a twin, with whatever has been put into it */
export function watch(setup: Setup, seed: number): Seen {
  const type = findType(setup.bench.catalogue, 'receiverTypes', TWIN.receiverType) as ReceiverType
  const unit = setup.bench.receivers[0]
  const image = benchImage(setup.bench, type, TWIN.image)
  if (!image.ok) throw new ProblemError(image.problems[0])
  const situation = situationOf(setup.bench, unit.id, setup.route, image.value.facts)
  if (situation === undefined) throw new Error('the twin has lost its receiver')
  const memory = memoryOf(setup.bench, type, unit)
  const countBefore = recordCount(memory)
  const staging = stagingOf(image.value, setup.bench.cards[0].folder)
  const end = runSession(
    {
      setup,
      seed,
      memory,
      image: image.value.facts,
      onStaged: tamperWith(setup.world.cardImage, setup.bench, type, image.value, staging),
    },
    updateReceiver(planFor(setup.bench, type, setup.route, staging)),
  )
  const outcome = judge(memory, countBefore)
  const flight = flightOf(setup, situation)
  const symptom = symptomOf(setup, end, outcome, flight)
  return {
    symptom,
    unsound: unsoundIn(setup, situation, end, outcome, flight),
    broken: brokenIn(situation),
  }
}

/** Rules that do not hold, those of the link among them whatever way the update goes. */
function brokenIn(s: Situation): Map<RuleId, Side | undefined> {
  const found = [
    ...findings(s),
    ...findings({ ...s, route: 'wireless' }).filter(f => LINK.includes(f.rule.id)),
  ]
  return new Map(found.flatMap(f => (f.holds === 'no' ? [[f.rule.id, f.side] as const] : [])))
}

interface Flight {
  readonly binds: boolean
  readonly telemetry: boolean
  readonly range: boolean
}

/** The rules without which module and receiver do not talk, update or not. */
export const LINK: readonly RuleId[] = [
  'module-present',
  'module-on',
  'module-hardware',
  'module-generation',
  'module-band',
  'module-region',
  'module-firmware',
]
/** Those without which they do not talk once the receiver runs the image. */
const FLYING: readonly RuleId[] = [...LINK, 'after-module']
/** A range check is made from here at reduced power; common practice, no source. */
const RANGE_CHECK_METRES = 30
const REDUCED_BY_DB = 25
/** The receiver answers with less power than the module sends; common practice, no source. */
const ANSWER_WEAKER_DB = 8

/** Would it bind, send telemetry and pass a range check, as the table stands? */
function flightOf(setup: Setup, s: Situation): Flight {
  const { world } = setup
  const wireless: Situation = { ...s, route: 'wireless' }
  const broken = findings(wireless).some(f => f.holds === 'no' && FLYING.includes(f.rule.id))
  const binds = !broken && !world.bindingLost && !world.receiverDead
  const ends = linkEndsOf(
    { ...wireless, wiring: { ...s.wiring, distanceMetres: RANGE_CHECK_METRES } },
    world.antennaLossDb,
  )
  const margin = ends === undefined ? Number.NEGATIVE_INFINITY : linkMarginDb(ends) - REDUCED_BY_DB
  return {
    binds,
    telemetry: binds && !world.telemetrySilent && margin + REDUCED_BY_DB - ANSWER_WEAKER_DB > 0,
    range: binds && margin > WANTED_MARGIN_DB && world.interference.share < 0.5,
  }
}

const CARD_CODES: readonly FailureCode[] = ['card-absent', 'card-read-only', 'card-full', 'card-unreadable']

function symptomOf(
  setup: Setup,
  end: SessionEnd<UpdateResult>,
  outcome: Outcome,
  flight: Flight,
): SymptomId | 'none' {
  const { trace } = end
  const failed = firstFailure(trace)
  const started = trace.devices.some(d => d.device === 'receiver' && d.alive)
  if (failed !== undefined && CARD_CODES.includes(failed.code) && !entered(trace)) return 'card-not-seen'
  if (!started) return 'dead'
  if (failed !== undefined) return failureSymptom(setup, failed.code, trace)
  if (end.radioDied)
    return entered(trace) ? 'stops' : setup.route === 'cable' ? 'write-refused' : 'not-offered'
  if (outcome !== 'updated') return 'verify-fails'
  if (!flight.binds) return 'no-bind'
  if (!flight.telemetry) return 'no-telemetry'
  return flight.range ? 'none' : 'short-range'
}

function failureSymptom(setup: Setup, code: FailureCode, trace: Trace): SymptomId {
  const wrote = progressInWrite(trace) > 0
  if (wrote) return code === 'verify-differs' || code === 'not-started' ? 'verify-fails' : 'stops'
  if (setup.route === 'wireless') {
    if (code === 'not-offered' || code === 'radio-refused') return 'not-offered'
    if (code === 'not-found') return 'not-found'
    if (code === 'no-answer') return reached(trace, 'enter') ? 'not-found' : 'not-offered'
  } else if (code === 'no-answer' || (code === 'lost-contact' && !reached(trace, 'begin'))) return 'no-answer'
  return 'write-refused'
}

function firstFailure(trace: Trace): { readonly code: FailureCode } | undefined {
  for (const { event } of trace.events) if (event.kind === 'attempt-failed') return event
  return undefined
}

const reached = (trace: Trace, phase: Trace['phases'][number]['id']): boolean =>
  trace.phases.some(p => p.id === phase && p.attempt === 1)
const entered = (trace: Trace): boolean => reached(trace, 'identify')

/** Octets written in the first attempt. */
function progressInWrite({ progress, phases }: Trace): number {
  let most = 0
  for (let i = 0; i < progress.count; i++) {
    const phase = phases[progress.phase[i]]
    if (phase?.id === 'write' && phase.attempt === 1) most = Math.max(most, progress.done[i])
  }
  return most
}

function unsoundIn(
  setup: Setup,
  s: Situation,
  end: SessionEnd<UpdateResult>,
  outcome: Outcome,
  flight: Flight,
): Set<Observable> {
  const { trace } = end
  const { world } = setup
  const receiver = trace.devices.filter(d => d.device === 'receiver')
  const alive = receiver.findIndex(d => d.alive)
  const codes = trace.events.flatMap(({ event }) => (event.kind === 'attempt-failed' ? [event.code] : []))
  const looks: Record<Observable, boolean> = {
    'receiver-light': alive >= 0,
    'light-stays': alive < 0 || !receiver.slice(alive).some(d => !d.alive),
    'card-seen': !codes.includes('card-absent'),
    'image-passes': !codes.includes('image-damaged'),
    'line-quiet': setup.route === 'wireless' || !talksInQuiet(trace),
    'receiver-named': reached(trace, 'begin'),
    'volts-hold': lowestVolts(trace) >= s.receiverType.supply.leastVolts - 0.3,
    'second-try': codes.length < 2 && !stoppedByRefusal(codes),
    'old-firmware-runs': outcome === OUTCOMES[0] || outcome === 'unchanged',
    'signal-wire': setup.route === 'wireless' || carries(s.cable, 'signal'),
    // The join of both directions is at the near end, so a wire that is broken further on changes nothing of it.
    'echo-back': setup.route === 'wireless' || world.nearEnd === 'sound',
    'supply-wires':
      setup.route === 'wireless' || (carries(s.cable, 'positive') && carries(s.cable, 'negative')),
    'air-free': world.interference.share < 0.1,
    'antenna-whole': world.antennaLossDb < 6,
    'telemetry-on': !world.telemetrySilent,
    'cable-clear': world.bitErrorRate === 0,
    'bound-light': flight.binds,
    'telemetry-near': flight.telemetry,
    'range-near': flight.range,
  }
  return new Set(OBSERVABLES.filter(one => !looks[one]))
}

/** A refusal is not tried again, so it counts as one that a second try does not get past. */
const stoppedByRefusal = (codes: readonly FailureCode[]): boolean =>
  codes.some(
    code => !['no-answer', 'lost-contact', 'not-found', 'verify-differs', 'not-started'].includes(code),
  )

/** Does a sensor talk on the bus after it was told to be quiet? */
function talksInQuiet(trace: Trace): boolean {
  const bus = trace.lanes.find(lane => lane.id === 'bus')
  const quiet = trace.phases.find(p => p.id === 'enter')
  if (bus === undefined || quiet === undefined) return false
  const sensors = new Set(
    bus.talkers.flatMap((name, i) => (name === 'radio' || name === 'receiver' ? [] : [i])),
  )
  for (let at = 0; at < bus.burstCount; at++)
    if (bus.startNs[at] > quiet.startNs && sensors.has(bus.talker[at])) return true
  return false
}

function lowestVolts({ supply }: Trace): number {
  let lowest = Number.POSITIVE_INFINITY
  for (let i = 0; i < supply.count; i++) lowest = Math.min(lowest, supply.volts[i])
  return lowest
}
