import type { PinWire } from '../model/gear.ts'
import { type Known, UNKNOWN } from '../model/units.ts'
import type { FindingCode, WiringFinding } from './finding.ts'
import { netsOf } from './nets.ts'
import { joinsOf, pinWiresOf, type Setup } from './setup.ts'
import { supplyFindings } from './supply-findings.ts'
import { wireFindings } from './wire-findings.ts'

/** Plugs that go in otherwise than they should: turned round, or one pin off. */

export type PlugEnd = 'receiver' | 'adapter'
export type HowMisplaced = 'turned-round' | 'one-pin-down' | 'one-pin-up'

export interface Misplaced {
  readonly end: PlugEnd
  readonly how: HowMisplaced
  /** Whether the plug can go in like that at all. */
  readonly possible: Known<boolean>
  /** What would be destroyed; undefined where nothing would. */
  readonly worst: WiringFinding | undefined
}

const HOWS: readonly HowMisplaced[] = ['turned-round', 'one-pin-down', 'one-pin-up']

const moved: Readonly<Record<HowMisplaced, (pin: number, pins: number) => number>> = {
  'turned-round': (pin, pins) => pins + 1 - pin,
  'one-pin-down': pin => pin - 1,
  'one-pin-up': pin => pin + 1,
}

function both(a: Known<boolean>, b: Known<boolean>): Known<boolean> {
  if (a === false || b === false) return false
  return a === true && b === true ? true : UNKNOWN
}

/** A key holds only where plug and socket both have it. */
const isKeyed = (setup: Setup, end: PlugEnd): Known<boolean> =>
  end === 'adapter' ? setup.adapter.keyed : both(setup.connector.keyed, setup.cable.plugKeyed ?? UNKNOWN)

/** The wires with the plug at one end elsewhere; what then meets no pin hangs in the air. */
function shifted(setup: Setup, end: PlugEnd, how: HowMisplaced): Setup {
  const { cable, adapter, connector } = setup
  const side = end === 'receiver' ? 'to' : 'from'
  const pins = end === 'receiver' ? connector.pins.length : adapter.pins.length
  const pinWires = pinWiresOf(cable, adapter, connector)
    .map((wire): PinWire => ({ ...wire, [side]: moved[how](wire[side], pins) }))
    .filter(wire => wire[side] >= 1 && wire[side] <= pins)
  const other = { ...cable, pinWires }
  return { ...setup, cable: other, joins: joinsOf(other, adapter, connector) }
}

/** What each way of misplacing a plug would do. */
export function misplacements(setup: Setup): Misplaced[] {
  return (['receiver', 'adapter'] as const).flatMap(end => {
    const keyed = isKeyed(setup, end)
    const possible = keyed === UNKNOWN ? UNKNOWN : !keyed
    return HOWS.map((how): Misplaced => {
      const there = shifted(setup, end, how)
      const found = [...wireFindings(there, netsOf(there)), ...supplyFindings(there)]
      return { end, how, possible, worst: found.find(f => f.severity === 'danger') }
    })
  })
}

const howWords: Readonly<Record<HowMisplaced, string>> = {
  'turned-round': 'turned round',
  'one-pin-down': 'one pin too low',
  'one-pin-up': 'one pin too high',
}

const harm: Partial<Record<FindingCode, string>> = {
  'supply-reversed': 'the supply would be reversed',
  'supply-on-signal': 'the supply would come to a signal pin',
  'ground-on-positive': 'ground would come to positive',
  'ground-on-signal': 'ground would come to the signal pin',
  'data-on-positive': 'a data pin would meet the supply',
  'data-on-negative': 'a data pin would take the place of ground',
  'supply-short': 'the supply would be shorted',
}

function sayHarm(bad: readonly Misplaced[]): string {
  const parts = bad.map(m => {
    const what = m.worst && (harm[m.worst.code] ?? 'a pin would get more than it stands')
    return `${howWords[m.how]}, ${what}`
  })
  return `${parts.join('; ')}.`
}

/** Whether a plug can be put in wrongly, and what that would do, for each end. */
export function plugFindings(misplaced: readonly Misplaced[]): WiringFinding[] {
  return (['receiver', 'adapter'] as const).map((end): WiringFinding => {
    const here = misplaced.filter(m => m.end === end)
    const bad = here.filter(m => m.worst !== undefined)
    const { possible } = here[0]
    if (possible === false)
      return { code: 'keyed', severity: 'ok', why: `The plug at the ${end} goes in one way only.` }
    if (bad.length === 0)
      return {
        code: 'keyed',
        severity: 'ok',
        why: `The plug at the ${end} may go in wrongly, but nothing would be destroyed by it.`,
      }
    const start =
      possible === true
        ? `The plug at the ${end} has no key.`
        : `Whether the plug at the ${end} goes in one way only is not known.`
    return {
      code: 'plug-can-turn',
      severity: 'warn',
      pin: end === 'receiver' ? bad[0].worst?.pin : undefined,
      adapterPin: end === 'adapter' ? bad[0].worst?.adapterPin : undefined,
      why: `${start} Before there is power, hold pin 1 to pin 1: ${sayHarm(bad)}`,
    }
  })
}
