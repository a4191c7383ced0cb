import type { PinRole } from '../model/catalogue.ts'
import type { WiringFinding } from './finding.ts'
import { sayVolts } from './finding.ts'
import { type Nets, toMillivolts } from './nets.ts'
import type { Join, Setup } from './setup.ts'
import { pinName } from './wire-findings.ts'

/** What every pin of the receiver gets, and what flows through every wire, for lists and drawings. */

export type PinVerdict = 'right' | 'wrong' | 'not-known' | 'open'

/** Seen from the receiver. */
export type Flow = 'in' | 'out' | 'both' | 'return' | 'none'

export interface PinState {
  /** From 1. */
  readonly pin: number
  readonly name: string
  readonly role: PinRole
  /** At rest, against the ground of the adapter; null where nothing from outside holds it. */
  readonly volts: number | null
  readonly lowestVolts: number | null
  readonly highestVolts: number | null
  readonly flow: Flow
  /** Pins of the adapter that it hangs on, and through what. */
  readonly from: readonly {
    readonly adapterPin: number
    readonly name: string
    readonly through: Join['through']
    readonly ohms: number
  }[]
  readonly fedBy: string | null
  readonly verdict: PinVerdict
  readonly words: string
}

export interface WireState extends Join {
  readonly flow: Flow
  readonly state: 'right' | 'wrong' | 'not-known'
  readonly words: string
}

/** About a wire that is not there; those that are there may be right. */
const isMissing = (f: WiringFinding) => /^(not-connected|transmit-only|receive-only|no-.*)$/.test(f.code)

const isOpenQuestion = (f: WiringFinding) => /-not-known$/.test(f.code)

function verdictOf(findings: readonly WiringFinding[], needed: boolean, reached: boolean): PinVerdict {
  const bad = findings.filter(f => f.severity === 'danger' || f.severity === 'block')
  if (bad.some(f => !isOpenQuestion(f))) return reached ? 'wrong' : 'open'
  if (bad.length > 0) return 'not-known'
  return needed && !reached ? 'open' : 'right'
}

/** A control pin is only where the way of writing moves it. */
const isNeeded = (role: PinRole, pin: number, findings: readonly WiringFinding[]): boolean =>
  role === 'boot' || role === 'reset'
    ? findings.some(f => f.code === 'control-by-hand' && f.pin === pin)
    : role !== 'not-used'

function flowOf(setup: Setup, join: Join): Flow {
  const role = setup.adapter.pins[join.from - 1]?.role
  if (role === 'ground') return 'return'
  if (role === 'receive') return 'out'
  if (role === 'single-wire') return 'both'
  return role === undefined || role === 'not-used' ? 'none' : 'in'
}

const mix = (flows: readonly Flow[]): Flow => {
  const found = [...new Set(flows.filter(f => f !== 'none'))]
  if (found.length === 0) return 'none'
  return found.length === 1 ? found[0] : found.includes('return') ? 'return' : 'both'
}

const flowWords: Readonly<Record<Flow, string>> = {
  in: 'into the receiver',
  out: 'out of the receiver',
  both: 'both ways',
  return: 'back to the adapter',
  none: 'nothing',
}

export const sayFlow = (flow: Flow): string => flowWords[flow]

const rounded = (volts: number | undefined): number | null =>
  volts === undefined ? null : toMillivolts(volts)

/** @returns one state a pin, in the order of the connector */
export function pinStates(setup: Setup, nets: Nets, findings: readonly WiringFinding[]): PinState[] {
  const { adapter, connector, joins, own } = setup
  return connector.pins.map(({ name, role }, i) => {
    const pin = i + 1
    const here = joins.filter(j => j.to === pin && j.verdict !== 'no-pin')
    const level = nets.receiverPin(pin)
    const rail = role === 'positive' || role === 'negative'
    const reached = here.length > 0 || (rail && own !== undefined)
    const flow: Flow =
      here.length === 0 && own && rail
        ? role === 'positive'
          ? 'in'
          : 'return'
        : mix(here.map(j => flowOf(setup, j)))
    const verdict = verdictOf(
      findings.filter(f => f.pin === pin),
      isNeeded(role, pin, findings),
      reached,
    )
    return {
      pin,
      name,
      role,
      volts: rounded(level?.atRest),
      lowestVolts: rounded(level?.lowest),
      highestVolts: rounded(level?.highest),
      flow,
      from: here.map(j => ({
        adapterPin: j.from,
        name: adapter.pins[j.from - 1].name,
        through: j.through,
        ohms: j.ohms,
      })),
      fedBy: rail && own ? own.nickname : null,
      verdict,
      words: sayPin(role, level?.atRest, flow),
    }
  })
}

function sayPin(role: PinRole, volts: number | undefined, flow: Flow): string {
  if (flow === 'none') return role === 'not-used' ? 'nothing' : 'nothing reaches it'
  if (volts === undefined && flow === 'out') return 'held by the receiver'
  if (volts === undefined) return `held by the receiver, ${flowWords[flow]}`
  if (role === 'negative' && flow === 'return') return `${sayVolts(volts)}, ground`
  return `${sayVolts(volts)} at rest, ${flowWords[flow]}`
}

/** @returns one state a wire, in the order of the cable */
export function wireStates(setup: Setup, nets: Nets, findings: readonly WiringFinding[]): WireState[] {
  return setup.joins.map(join => {
    const about = findings.filter(
      f =>
        (f.severity === 'danger' || f.severity === 'block') &&
        !isMissing(f) &&
        (f.adapterPin === join.from || f.adapterPin === undefined) &&
        f.pin === join.to,
    )
    const state =
      join.verdict !== 'right' || about.some(f => !isOpenQuestion(f))
        ? 'wrong'
        : about.length > 0
          ? 'not-known'
          : 'right'
    const flow = flowOf(setup, join)
    const volts = nets.adapterPin(join.from)?.atRest
    const what = join.through === 'wire' ? '' : `, through a ${join.through}`
    return {
      ...join,
      flow,
      state,
      words: `${pinName(setup.adapter.pins, join.from)} to ${pinName(setup.connector.pins, join.to)}${what}: ${volts === undefined ? '' : `${sayVolts(volts)} `}${flowWords[flow]}`,
    }
  })
}
