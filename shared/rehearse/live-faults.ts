import { failed, oneOf, type Problem, type Result, succeeded } from '../model/problem.ts'
import { FAULTS, type FaultName, type FaultParameter, findFault } from '../sim/faults.ts'
import type { Stall } from '../sim/live.ts'
import type { World } from '../sim/world.ts'
import type { FaultChoice } from './report.ts'

/**
 * What can go wrong on an emulated table. The faults of the rehearsal that lie in receiver, supply or cable are here
 * with the same mechanism; others lie on the way to a real host, or are what people meet at a boot loader. Times count
 * from the first octet that the host says.
 */
export interface LiveFault {
  readonly name: string
  readonly label: string
  readonly mechanism: string
  readonly parameter: FaultParameter | undefined
  /** Only on the telemetry bus, not at a boot loader of its own. */
  readonly busOnly: boolean
}

/** Faults of the rehearsal that need neither radio nor card; the second list needs the telemetry bus. */
const ANYWHERE: readonly FaultName[] = [
  'line-noise',
  'cable-loose',
  'supply-sag',
  'power-cut',
  'receiver-dead',
  'worn-flash',
]
const ON_BUS: readonly FaultName[] = [
  'slow-settle',
  'chatty-sensor',
  'signal-wire-open',
  'reversed-cable',
  'second-supply',
]

const number = (
  label: string,
  unit: string,
  usual: number,
  least: number,
  most: number,
): FaultParameter & { kind: 'number' } => ({ kind: 'number', label, unit, least, most, usual })

/** How long a stall lasts where nothing is said about it. */
const STALL_SECONDS = 5
/** A dip of the supply: over before anybody has noticed it. Common practice, no source. */
const DIP_MS = 300
const WORN_AT = 64

const OWN: readonly LiveFault[] = [
  {
    name: 'first-write-fails',
    label: 'First write fails',
    mechanism:
      'The supply dips while the first block is written: the receiver starts again and waits for its boot loader to be used. The second attempt goes through.',
    parameter: undefined,
    busOnly: false,
  },
  {
    name: 'cut-at-block',
    label: 'Power cut at a block',
    mechanism: 'The supply goes away in the middle of writing this block of program flash, and stays away.',
    parameter: number('Block', '', 10, 1, 1_000_000),
    busOnly: false,
  },
  {
    name: 'silent',
    label: 'Silent',
    mechanism: 'The signal wire is open: nothing reaches the receiver, and nothing comes from it.',
    parameter: undefined,
    busOnly: false,
  },
  {
    name: 'stall',
    label: 'Adapter stalls',
    mechanism:
      'From this moment on nothing passes in either direction for 5 seconds (AFTER+FOR for another time), as when an adapter or a hub hangs; what was held up then goes on its way.',
    parameter: number('After', 's', 2, 0, 3600),
    busOnly: false,
  },
  {
    name: 'unplug',
    label: 'Adapter unplugged',
    mechanism: 'The emulator closes its end of the port at this moment, as when an adapter is pulled.',
    parameter: number('After', 's', 5, 0, 3600),
    busOnly: false,
  },
  {
    name: 'verify-differs',
    label: 'What is read back differs',
    mechanism:
      'A cell near the beginning of program flash does not take every bit, however often it is written.',
    parameter: undefined,
    busOnly: false,
  },
  {
    name: 'other-receiver',
    label: 'Another receiver',
    mechanism: 'On the line is a receiver of another type than the one that was expected.',
    parameter: undefined,
    busOnly: false,
  },
]

/** All faults that an emulated table can have, in the order in which they are listed. */
export const LIVE_FAULTS: readonly LiveFault[] = [
  ...OWN,
  ...FAULTS.filter(f => ANYWHERE.includes(f.name) || ON_BUS.includes(f.name)).map(
    ({ name, label, mechanism, parameter }) => ({
      name,
      label,
      mechanism,
      parameter,
      busOnly: ON_BUS.includes(name),
    }),
  ),
]

/** The faults that were chosen, taken apart by who brings them about. */
export interface LiveFaultPlan {
  /** Applied to bench and world as in a rehearsal. */
  readonly rehearsed: readonly FaultChoice[]
  readonly world: Partial<World>
  readonly stall: Stall | undefined
  readonly silent: boolean
  readonly unplugAfterMs: number | undefined
  readonly otherReceiver: boolean
}

/**
 * Sorts the chosen faults.
 * @param onBus the receiver is on its telemetry bus
 * @returns problems `fault.unknown` and `fault.value` that name the fault and what it would take
 */
export function planLiveFaults(choices: readonly FaultChoice[], onBus: boolean): Result<LiveFaultPlan> {
  const problems: Problem[] = []
  const rehearsed: FaultChoice[] = []
  let plan: LiveFaultPlan = {
    rehearsed,
    world: {},
    stall: undefined,
    silent: false,
    unplugAfterMs: undefined,
    otherReceiver: false,
  }
  for (const choice of choices) {
    const fault = LIVE_FAULTS.find(f => f.name === choice.name && (onBus || !f.busOnly))
    if (fault === undefined) problems.push(unknown(choice.name, onBus))
    else if (findFault(choice.name)) rehearsed.push(choice)
    else {
      const changed = own(plan, fault, choice.value)
      if (changed.ok) plan = changed.value
      else problems.push(...changed.problems)
    }
  }
  return problems.length > 0 ? failed(...problems) : succeeded(plan)
}

const unknown = (name: string, onBus: boolean): Problem => ({
  code: 'fault.unknown',
  field: 'fault',
  message: `There is no fault called "${name}" for this dialect.`,
  expected: oneOf(
    LIVE_FAULTS.filter(f => onBus || !f.busOnly).map(f => f.name),
    'a fault',
  ),
})

function own(plan: LiveFaultPlan, fault: LiveFault, given: string | undefined): Result<LiveFaultPlan> {
  const { parameter } = fault
  const [first, second] = fault.name === 'stall' ? (given ?? '').split('+') : [given ?? '']
  const value = first === '' ? (parameter?.kind === 'number' ? parameter.usual : 0) : Number(first)
  const seconds = second === undefined ? STALL_SECONDS : second === '' ? Number.NaN : Number(second)
  if (parameter === undefined ? first !== '' : !fits(parameter, value) || !(seconds > 0 && seconds <= 3600))
    return failed({
      code: 'fault.value',
      field: `fault ${fault.name}`,
      message: `"${given}" is not a value for this fault.`,
      expected:
        parameter?.kind === 'number'
          ? `a number from ${parameter.least} to ${parameter.most} ${parameter.unit}`.trimEnd()
          : 'no value',
    })
  switch (fault.name) {
    case 'first-write-fails':
      return inWorld(plan, { cut: { at: 'block', index: 0, when: 'during' }, supplyReturnsAfterMs: DIP_MS })
    case 'cut-at-block':
      return inWorld(plan, { cut: { at: 'block', index: Math.floor(value) - 1, when: 'during' } })
    case 'verify-differs':
      return inWorld(plan, { wornFlashAt: WORN_AT })
    case 'silent':
      return succeeded({ ...plan, silent: true })
    case 'stall':
      return succeeded({ ...plan, stall: { afterMs: value * 1000, forMs: seconds * 1000 } })
    case 'unplug':
      return succeeded({ ...plan, unplugAfterMs: value * 1000 })
    default:
      return succeeded({ ...plan, otherReceiver: true })
  }
}

const fits = (parameter: FaultParameter, value: number): boolean =>
  parameter.kind === 'number' && value >= parameter.least && value <= parameter.most

const inWorld = (plan: LiveFaultPlan, change: Partial<World>): Result<LiveFaultPlan> =>
  succeeded({ ...plan, world: { ...plan.world, ...change } })
