import type { LogEvent } from '../logbook/event.ts'
import { type Result, succeeded } from '../model/problem.ts'
import type { Effect } from '../procedure/effects.ts'
import type { Recovery, RunbookStep } from '../rehearse/report.ts'
import { Announcer } from './announcer.ts'
import type { Rehearsed } from './check.ts'
import type { WritePlan } from './plan.ts'
import { planFromJson } from './plan-json.ts'
import { type PlannedWrite, planWrite, type ReadyWrite } from './ready.ts'
import { rehearseWrite, type WriteRehearsal } from './rehearse-write.ts'
import { type StateKnown, stateOf } from './state-of.ts'

/** How a receiver is brought back after a write that broke off, carried out in the simulator on one in that state. */
export interface WriteRecovery {
  readonly known: StateKnown
  readonly recovery: Recovery
  readonly rehearsed: Rehearsed
}

/** A receiver that was switched off and on again has started by then. */
const SETTLED_MS = 3000

export function recoveryOf(planned: PlannedWrite, log: readonly LogEvent[], seed = 1): Result<WriteRecovery> {
  const known = stateOf(log)
  let worst: WriteRehearsal | undefined
  // What was announced last may have been done or not: the recovery has to work either way.
  for (const carriedOut of [false, true]) {
    const broken = brokenOff(planned, log, carriedOut, seed)
    if (!broken.ok) return broken
    const again = rehearseWrite(planned, { memory: broken.value.memory, seed: seed + 1 })
    if (!again.ok) return again
    if (worst === undefined || !again.value.rehearsed.ok) worst = again.value
  }
  const { held, rehearsed } = worst as WriteRehearsal
  return succeeded({
    known,
    rehearsed,
    recovery: {
      steps: stepsFor(planned, known),
      rehearsed: { outcome: held.outcome, simulatedMs: rehearsed.simulatedMs, standIn: false },
    },
  })
}

/** How a session is put right, from what lies in the logbook of it. */
export interface StoredRecovery {
  /** The plan to do it with; null for a device that is on no bench, or where the plan cannot be read any more. */
  readonly plan: WritePlan | null
  /** Undefined where there is no bench on which to rehearse it. */
  readonly found: Result<WriteRecovery> | undefined
}

/** @param json the plan of the session, as it lies in the logbook */
export function storedRecovery(json: unknown, log: readonly LogEvent[]): StoredRecovery {
  const stored = planFromJson(json)
  if (!stored.ok) return { plan: null, found: stored }
  const { plan, chosen } = stored.value
  if (plan === null) return { plan, found: undefined }
  const planned = planWrite(plan, chosen)
  return { plan, found: planned.ok ? recoveryOf(planned.value, log) : planned }
}

/** The furthest that the receiver had been changed, as the place at which the simulated session is stopped. */
function furthest(
  log: readonly LogEvent[],
): { readonly effect: string; readonly offset: number } | undefined {
  const order = ['erase', 'write', 'verify', 'commit', 'restart']
  let place: { effect: string; offset: number } | undefined
  for (const event of log) {
    if (event.kind !== 'effect' || !order.includes(event.effect)) continue
    const offset = event.offset ?? 0
    const before = place === undefined ? -1 : order.indexOf(place.effect)
    const now = order.indexOf(event.effect)
    if (now > before || (now === before && offset > (place?.offset ?? 0)))
      place = { effect: event.effect, offset }
  }
  return place
}

/** How many requests of the step are let through where it is taken to have been under way. */
const UNDER_WAY = 6

function brokenOff(
  planned: PlannedWrite,
  log: readonly LogEvent[],
  carriedOut: boolean,
  seed: number,
): Result<WriteRehearsal> {
  return rehearseWrite(planned, {
    seed,
    afterMs: SETTLED_MS,
    stopBefore: stopAtFurthest(planned.ready, log, carriedOut),
  })
}

/**
 * Stops a simulated session where a real one broke off, by what that has committed.
 * @param carriedOut what was announced last is let through; otherwise it is not
 */
export function stopAtFurthest(
  { image, chosen }: Pick<ReadyWrite, 'image' | 'chosen'>,
  log: readonly LogEvent[],
  carriedOut: boolean,
): (effect: Effect, index: number) => boolean {
  const place = furthest(log)
  const announcer = new Announcer({
    imageOctets: image.octets.length,
    beginChanges: chosen.kind === 'data' && chosen.dialect.erase === undefined,
  })
  let sentSince: number | undefined
  return (effect, index) => {
    if (place === undefined) return true
    for (const event of announcer.before(effect, index))
      if (event.kind === 'effect' && event.effect === place.effect && (event.offset ?? 0) >= place.offset)
        sentSince ??= 0
    if (sentSince === undefined) return false
    return effect.do === 'send' && sentSince++ >= (carriedOut ? UNDER_WAY : 0)
  }
}

const DRIVE = 'Propeller off, drive disconnected: outputs may move when the receiver restarts.'

function stepsFor({ plan, unit, ready, type }: PlannedWrite, { state }: StateKnown): RunbookStep[] {
  const adapter = plan.bench.adapters.find(a => a.id === plan.adapterId)?.nickname ?? 'the adapter'
  const cable = plan.bench.cables.find(c => c.id === plan.cableId)?.nickname ?? 'its cable'
  const connect: RunbookStep = {
    text: `Connect ${unit.nickname} to ${adapter} through ${cable}, as it was before.`,
    expect: 'The check of the wiring finds nothing against it.',
    caution: DRIVE,
    minutes: 2,
  }
  const power: RunbookStep =
    ready.chosen.name === 'st-an3155'
      ? {
          text: 'Hold the boot pin of its controller, and switch the receiver off and on.',
          expect: "The chip's own loader waits for its first octet.",
          minutes: 2,
        }
      : {
          text: 'Switch the receiver off, wait five seconds, and switch it on again.',
          expect:
            state === 'as-before'
              ? 'It starts as it did before.'
              : state === 'in-boot-loader' || state === 'partly-written'
                ? 'It waits in its boot loader.'
                : 'It starts, or waits in its boot loader.',
          minutes: 1,
        }
  const write: RunbookStep = {
    text: `Write ${ready.image.name} to the ${type.name} again, from the start, by ${ready.chosen.title}.`,
    expect: 'All of it is written and verified.',
    minutes: 3,
  }
  return [connect, power, write]
}
