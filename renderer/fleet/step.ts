import type { Finding, Remedy } from '../../shared/fit/rule.ts'
import type { RuleId } from '../../shared/fit/rule-ids.ts'
import { checkFit, RULES } from '../../shared/fit/rules.ts'
import { situationOf } from '../../shared/fit/situation.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { ModuleUnit, RadioUnit, ReceiverUnit } from '../../shared/model/gear.ts'
import type { StatusRole } from '../ui/StatusMark.tsx'

/**
 * Reads the fit rules for the fleet. What is compatible is decided there alone; here it is only sorted by what a person
 * asks first: do receiver and module talk, could an update go by air, and is the table ready for one.
 */

export type Concern = 'link' | 'by-air' | 'table' | 'image'

const concerns: Readonly<Record<RuleId, Concern>> = {
  'image-type': 'image',
  'image-hardware': 'image',
  'image-size': 'image',
  'image-place': 'image',
  'image-intact': 'image',
  'image-label': 'image',
  'image-generation': 'image',
  'image-band': 'image',
  'image-region': 'image',
  'image-order': 'image',
  'conversion-by-cable': 'image',
  'wireless-image': 'image',
  'module-present': 'link',
  'module-on': 'link',
  'module-hardware': 'link',
  'module-generation': 'link',
  'module-band': 'link',
  'module-region': 'link',
  'module-firmware': 'link',
  'wireless-type': 'by-air',
  'first-by-cable': 'by-air',
  'module-wireless': 'by-air',
  'radio-battery': 'table',
  'radio-system': 'table',
  'card-present': 'table',
  'card-room': 'table',
  'supply-present': 'table',
  'supply-range': 'table',
  'supply-load': 'table',
  'supply-polarity': 'table',
  'one-supply': 'table',
  'cable-wires': 'table',
  'near-enough': 'table',
  'not-too-close': 'table',
  'stepping-stone': 'image',
  'image-signature': 'image',
  'image-signed': 'image',
  'after-module': 'image',
  'after-generation': 'image',
  'leaves-behind': 'image',
}

export const concernOf = (finding: Finding): Concern => concerns[finding.rule.id]

export type Step = 'in-step' | 'out-of-step' | 'not-known'

export const stepWords: Readonly<Record<Step, string>> = {
  'in-step': 'in step',
  'out-of-step': 'out of step',
  'not-known': 'not known',
}
export const stepStatus: Readonly<Record<Step, StatusRole>> = {
  'in-step': 'good',
  'out-of-step': 'danger',
  'not-known': 'unknown',
}

/** The worst of the findings that would stop something. What is not known is never taken for fine. */
export function stepOf(findings: readonly Finding[]): Step {
  const stops = findings.filter(finding => finding.rule.severity === 'block')
  if (stops.some(finding => finding.holds === 'no')) return 'out-of-step'
  return stops.some(finding => finding.holds === 'unknown') ? 'not-known' : 'in-step'
}

export interface Standing {
  readonly receiver: ReceiverUnit
  readonly findings: readonly Finding[]
  /** Do this receiver and its module work together? */
  readonly step: Step
  /** Could it be updated by air, all things considered? */
  readonly byAir: Step
}

const linkOnly = (findings: readonly Finding[]) => findings.filter(f => concernOf(f) === 'link')

export function standingOf(bench: Bench, receiver: ReceiverUnit): Standing {
  const findings = checkFit(bench, receiver.id, 'wireless') ?? []
  const isTyped = findings.length > 0
  return {
    receiver,
    findings,
    step: isTyped ? stepOf(linkOnly(findings)) : 'not-known',
    byAir: isTyped ? stepOf(findings) : 'not-known',
  }
}

/** How every receiver stands, by id. */
export const standings = (bench: Bench): ReadonlyMap<string, Standing> =>
  new Map(bench.receivers.map(receiver => [receiver.id, standingOf(bench, receiver)]))

/** What the cell of a receiver and a module says. */
export interface Cell {
  readonly bound: boolean
  readonly step: Step
  /** The first thing that stands in the way. */
  readonly because: string | undefined
}

const LINK_RULES = RULES.filter(rule => concerns[rule.id] === 'link')

function linkFindings(bench: Bench, receiverId: string): Finding[] {
  const situation = situationOf(bench, receiverId, 'wireless', undefined)
  if (situation === undefined) return []
  return LINK_RULES.filter(rule => rule.applies(situation)).map(rule => ({ rule, ...rule.check(situation) }))
}

/**
 * Would this receiver work with each of these modules if it were bound to it? Asked of the rules about the link, on a
 * bench where it is. A large fleet has thousands of cells, so the other rules are not asked.
 */
export function cellsOf(bench: Bench, receiver: ReceiverUnit, moduleIds: readonly string[]): Cell[] {
  const others = bench.receivers.filter(other => other.id !== receiver.id)
  return moduleIds.map(boundTo => {
    const bound = { ...bench, receivers: [{ ...receiver, boundTo }, ...others] }
    const findings = linkFindings(bound, receiver.id)
    const step = findings.length > 0 ? stepOf(findings) : 'not-known'
    const wanted = step === 'out-of-step' ? 'no' : 'unknown'
    const because = findings.find(f => f.rule.severity === 'block' && f.holds === wanted)?.sentence
    return { bound: receiver.boundTo === boundTo, step, because: step === 'in-step' ? undefined : because }
  })
}

export const cellOf = (bench: Bench, receiver: ReceiverUnit, moduleId: string): Cell =>
  cellsOf(bench, receiver, [moduleId])[0]

/** Columns of the matrix: modules by the radio they are in, then those that lie loose. */
export interface RadioColumns {
  readonly radio: RadioUnit | undefined
  readonly modules: readonly ModuleUnit[]
}

export function radioColumns(bench: Bench): RadioColumns[] {
  const housed = new Set(bench.radios.flatMap(radio => radio.moduleIds))
  const loose = bench.modules.filter(module => !housed.has(module.id))
  const byId = new Map(bench.modules.map(module => [module.id, module]))
  const columns: RadioColumns[] = bench.radios.map(radio => ({
    radio,
    modules: radio.moduleIds.flatMap(id => byId.get(id) ?? []),
  }))
  return [...columns, ...(loose.length > 0 ? [{ radio: undefined, modules: loose }] : [])].filter(
    column => column.modules.length > 0,
  )
}

/** What a remedy does to the rest of the fleet. */
export interface Effect {
  readonly gains: readonly string[]
  readonly loses: readonly string[]
}

/** Only the receivers that the remedy is not for. */
export function effectOf(bench: Bench, remedy: Remedy, receiverId: string): Effect {
  const before = standings(bench)
  const after = standings(remedy.apply(bench))
  const moved = (to: boolean) =>
    [...after.values()]
      .filter(s => s.receiver.id !== receiverId && (s.step === 'in-step') === to)
      .filter(s => (before.get(s.receiver.id)?.step === 'in-step') !== to)
      .map(s => s.receiver.nickname)
  return { gains: moved(true), loses: moved(false) }
}

/** A remedy that is not a change of the bench is advice: another way, another image. */
export const isChange = (remedy: Remedy): boolean => remedy.route === undefined && !remedy.otherImage

/** A remedy's label as the name of an undo step. */
export const stepName = (label: string): string => label.replace(/[.!]\s*$/, '')
