import { type Result, succeeded } from '../model/problem.ts'
import { coreFindings, isSafe, worstFirst } from './core.ts'
import { curesFor, keyedPlug } from './cures.ts'
import type { WiringFinding } from './finding.ts'
import { netsOf, toMillivolts } from './nets.ts'
import { type PinState, pinStates, type WireState, wireStates } from './pins.ts'
import { type Misplaced, misplacements, plugFindings } from './plug.ts'
import { type Setup, setupOf, type WiringRequest } from './setup.ts'

export interface WiringCheck {
  /** Nothing in danger, nothing in the way, nothing not known. */
  readonly safe: boolean
  readonly pins: readonly PinState[]
  readonly wires: readonly WireState[]
  /** The worst first. */
  readonly findings: readonly WiringFinding[]
  readonly misplaced: readonly Misplaced[]
  /** What was looked at; undefined where the receiver's connector is not known. */
  readonly setup: Setup | undefined
}

const notKnown: WiringCheck = {
  safe: false,
  pins: [],
  wires: [],
  misplaced: [],
  setup: undefined,
  findings: [
    {
      code: 'receiver-not-known',
      severity: 'block',
      why: 'The type of this receiver is not known, so neither its connector nor what its pins stand. Find out its type under Firmware first.',
    },
  ],
}

/**
 * Checks the wiring of an adapter to a receiver before there is power: what every pin would get, what is wrong, and
 * what would cure it.
 * @param request what is to be wired; the line as the dialect has it
 * @returns problems where the bench has no such receiver, adapter, cable or supply
 */
export function checkWiring(request: WiringRequest): Result<WiringCheck> {
  const found = setupOf(request)
  if (!found.ok) return found
  if (found.value === undefined) return succeeded(notKnown)
  const setup = found.value
  const nets = netsOf(setup)
  const core = coreFindings(setup, nets)
  const misplaced = misplacements(setup)
  const plugs = plugFindings(misplaced)
  const cureOf = curesFor(request, setup, core)
  const cured = [
    ...core.map(f => settled(f, cureOf(f))),
    ...plugs.map(f =>
      settled(f, f.code === 'plug-can-turn' && !/at the adapter/.test(f.why) ? keyedPlug(setup) : undefined),
    ),
  ]
  return succeeded({
    safe: isSafe(core),
    pins: pinStates(setup, nets, core),
    wires: wireStates(setup, nets, core),
    findings: worstFirst(cured),
    misplaced,
    setup,
  })
}

/** To the millivolt: the equations know no more of real parts. */
const settled = (finding: WiringFinding, cure: WiringFinding['cure']): WiringFinding => ({
  ...finding,
  ...(finding.volts === undefined ? {} : { volts: toMillivolts(finding.volts) }),
  ...(cure === undefined ? {} : { cure }),
})
