import { controlFindings } from './control-findings.ts'
import type { FindingCode, Severity, WiringFinding } from './finding.ts'
import { lineFindings } from './line-findings.ts'
import { type Nets, netsOf } from './nets.ts'
import type { Setup } from './setup.ts'
import { supplyFindings } from './supply-findings.ts'
import { wireFindings } from './wire-findings.ts'

const ORDER: readonly Severity[] = ['danger', 'block', 'warn', 'ok']

/** A reversed supply is what a person has to hear first. */
const rank = ({ severity, code }: WiringFinding): number =>
  2 * ORDER.indexOf(severity) + (code === 'supply-reversed' ? 0 : 1)

export const worstFirst = (findings: readonly WiringFinding[]): WiringFinding[] =>
  findings.toSorted((a, b) => rank(a) - rank(b))

/** What only follows from a supply on wrong pins, and would drown that in words. */
const FOLLOWS: ReadonlySet<FindingCode> = new Set(['no-ground', 'no-supply', 'signal-below-ground'])

function withoutConsequences(setup: Setup, findings: readonly WiringFinding[]): readonly WiringFinding[] {
  const roleOf = (pin: number | undefined) => setup.connector.pins[(pin ?? 0) - 1]?.role
  const powerIsWrong = findings.some(
    f => f.severity === 'danger' && !FOLLOWS.has(f.code) && /positive|negative/.test(roleOf(f.pin) ?? ''),
  )
  return powerIsWrong ? findings.filter(f => !FOLLOWS.has(f.code)) : findings
}

/** Nothing in danger and nothing in the way. */
export const isSafe = (findings: readonly WiringFinding[]): boolean =>
  findings.every(f => f.severity === 'warn' || f.severity === 'ok')

/** All that the plugs as drawn lead to; the worst first. */
export const coreFindings = (setup: Setup, nets: Nets = netsOf(setup)): WiringFinding[] =>
  worstFirst(
    withoutConsequences(setup, [
      ...wireFindings(setup, nets),
      ...supplyFindings(setup),
      ...lineFindings(setup, nets),
      ...controlFindings(setup),
    ]),
  )
