import type { Dialect } from '../dialect/schema.ts'
import { sha256Hex } from '../image/digest.ts'
import type { Bench } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { failed, oneOf, type Problem, type Result, succeeded } from '../model/problem.ts'
import { isKnown } from '../model/units.ts'
import type { Outcome } from '../procedure/effects.ts'
import { applyFaults } from '../sim/faults.ts'
import { Live, type PaceMode } from '../sim/live.ts'
import { bootLoaderWhole, type ReceiverMemory } from '../sim/memory.ts'
import { readReceiverState } from '../sim/receiver-state.ts'
import { calmWorld, type Setup } from '../sim/world.ts'
import {
  findLiveDialect,
  insideFaults,
  LIVE_DIALECTS,
  type LiveDialect,
  type LiveLine,
  mirrored,
} from './live-dialects.ts'
import { type LiveFaultPlan, planLiveFaults } from './live-faults.ts'
import { subjectOf } from './rehearse.ts'
import type { FaultChoice } from './report.ts'
import { firmwareOf, judge, memoryOf, recordCount } from './table.ts'

/** A receiver of the bench put on a live table, by the dialect that it is to speak. */

const oneFaultOnly = (dialect: LiveDialect): Problem => ({
  code: 'fault.value',
  field: 'fault',
  message: `A receiver that speaks "${dialect.name}" can have only one fault of its own at a time.`,
  remedy: 'Leave the others out; faults of the line and of the supply can be added.',
})

export interface EmulationRequest {
  readonly bench: Bench
  readonly receiverId: string
  /** A name, or a dialect file that has been read. */
  readonly dialect: string | Dialect
  readonly seed: number
  readonly faults: readonly FaultChoice[]
  /** The host hears itself; as on the wire of the dialect where left out. */
  readonly echo?: boolean | undefined
  readonly pace: PaceMode
  /**
   * The bus is polled and can be heard before the host says anything. Not for pseudo-terminals: nobody may be
   * listening there yet, and what is said piles up, where a real line forgets it. Default: as the dialect needs it.
   */
  readonly talksFirst?: boolean
  /** What it held when it was last played; the firmware that the bench names where left out. */
  readonly state?: { readonly text: string; readonly file: string }
}

/** What a receiver holds when it has been played. */
export interface Held {
  readonly outcome: Outcome
  /** The version that its boot loader would start. */
  readonly firmware: string
  readonly programBytes: number
  readonly programSha256: string
  readonly bootLoaderWhole: boolean
  readonly flashOperations: number
}

export interface Emulation {
  readonly live: Live
  readonly dialect: LiveDialect
  readonly line: LiveLine
  readonly unit: ReceiverUnit
  readonly type: ReceiverType
  readonly memory: ReceiverMemory
  /** Octets go out before the host has said anything. */
  readonly talksFirst: boolean
  /** The host hears what it says. */
  readonly echo: boolean
  /** When the port is to be closed, from the first octet of the host on. */
  readonly unplugAfterMs: number | undefined
  /** What it holds now, judged against what it held at the start. */
  readonly held: () => Held
}

/**
 * Puts a receiver on a live table and switches it on.
 * @returns problems `bench.no-receiver`, `dialect.unknown`, `fault.…`, `state.…`
 */
export function layEmulation(request: EmulationRequest): Result<Emulation> {
  const { dialect: asked } = request
  const dialect = typeof asked === 'string' ? findLiveDialect(asked) : mirrored(asked)
  if (dialect === undefined) return failed(noSuchDialect(String(asked)))
  const faults = planLiveFaults(request.faults, dialect.onBus)
  if (!faults.ok) return faults
  const subject = whoIsThere(request, faults.value)
  if (!subject.ok) return subject
  const { unit, type } = subject.value
  const setup = setupOf(request, unit.id, faults.value)
  if (!setup.ok) return setup
  if (dialect.oneFaultInside && insideFaults(setup.value.world, faults.value).length > 1)
    return failed(oneFaultOnly(dialect))
  const memory = memoryFrom(request, type, unit)
  if (!memory.ok) return memory
  if (setup.value.world.receiverDead) memory.value.dead ??= 'it was dead before'
  const echo = request.echo ?? dialect.halfDuplex ?? false
  const { device, host } = dialect.place(
    { setup: setup.value, type, faults: faults.value },
    {
      seed: request.seed,
      memory: memory.value,
      echo,
      pace: request.pace,
      polled: request.talksFirst ?? dialect.talksFirst,
    },
  )
  if (faults.value.silent) device.line.open()
  const countBefore = recordCount(memory.value)
  return succeeded({
    live: new Live(device, host, faults.value.stall),
    dialect,
    line: dialect.line(type),
    unit,
    type,
    memory: memory.value,
    talksFirst: request.talksFirst ?? dialect.talksFirst,
    echo,
    unplugAfterMs: faults.value.unplugAfterMs,
    held: () => heldBy(memory.value, countBefore, device.flasher?.operations ?? 0),
  })
}

const noSuchDialect = (name: string) => ({
  code: 'dialect.unknown',
  field: 'dialect',
  message: `There is no dialect called "${name}" that can be played.`,
  expected: oneOf(
    LIVE_DIALECTS.map(d => d.name),
    'a dialect',
  ),
})

/** The receiver that was asked for, or by the fault that says so one of another type. */
function whoIsThere({ bench, receiverId }: EmulationRequest, faults: LiveFaultPlan) {
  const asked = subjectOf(bench, receiverId)
  if (!asked.ok || !faults.otherReceiver) return asked
  const { typeId } = asked.value.unit
  const other = bench.receivers.find(
    r => r.typeId !== typeId && isKnown(r.typeId) && subjectOf(bench, r.id).ok,
  )
  if (other) return subjectOf(bench, other.id)
  return failed({
    code: 'fault.value',
    field: 'fault other-receiver',
    message: 'There is no receiver of another type on this bench.',
    expected: 'a bench with receivers of two types',
  })
}

function setupOf(
  { bench }: EmulationRequest,
  receiverId: string,
  { rehearsed, world }: LiveFaultPlan,
): Result<Setup> {
  const calm: Setup = { bench, receiverId, route: 'cable', world: calmWorld }
  const faulted = applyFaults(calm, [...rehearsed])
  if (!faulted.ok) return faulted
  return succeeded({ ...faulted.value, world: { ...faulted.value.world, ...world } })
}

const memoryFrom = (
  { bench, state }: EmulationRequest,
  type: ReceiverType,
  unit: ReceiverUnit,
): Result<ReceiverMemory> =>
  state === undefined
    ? succeeded(memoryOf(bench, type, unit))
    : readReceiverState(state.text, state.file, type)

function heldBy(memory: ReceiverMemory, countBefore: number, flashOperations: number): Held {
  const { octets } = memory.program
  return {
    outcome: judge(memory, countBefore),
    firmware: firmwareOf(memory),
    programBytes: octets.length,
    programSha256: sha256Hex(octets),
    bootLoaderWhole: bootLoaderWhole(memory),
    flashOperations,
  }
}
