import type { Bench } from '../model/bench.ts'
import type { Route } from '../model/units.ts'
import type { Setup } from '../sim/world.ts'
import { CAUSES, type Cause } from './causes.ts'
import { FACTS, type FactSpec } from './facts.ts'
import { SYMPTOMS, type SymptomId } from './report.ts'
import type { System, SystemCause } from './system.ts'
import { twinOf } from './twin.ts'
import { type Seen, watch } from './watch.ts'

/**
 * What each cause looks like on this table: every form of it was put on the receiver's twin and a whole update was
 * carried out. Symptoms and effects are read from that; nothing of it is written down anywhere.
 */
export interface CauseModel {
  readonly cause: Cause
  readonly forms: readonly Seen[]
}
export interface TableModel {
  readonly route: Route
  readonly causes: readonly CauseModel[]
}

/** One session for each form; more where it is a matter of luck which octet or slot is lost. */
const SEEDS = [1, 2, 3]
const seedsFor = ({ world }: Setup): readonly number[] =>
  world.bitErrorRate > 0 || world.interference.share > 0 ? SEEDS : SEEDS.slice(0, 1)

/**
 * Carries out one update for each form of each cause; takes some hundred milliseconds, so keep it.
 * @returns undefined when the receiver or its type is not on the bench
 */
export function modelTable(bench: Bench, receiverId: string, route: Route): TableModel | undefined {
  const twin = twinOf(bench, receiverId, route)
  if (twin === undefined) return undefined
  const causes = CAUSES.filter(cause => cause.routes.includes(route)).map(cause => ({
    cause,
    forms: cause.variants.flatMap(put => {
      const setup = put(twin)
      return seedsFor(setup).map(seed => watch(setup, seed))
    }),
  }))
  return { route, causes }
}

/** The table as it is when this symptom is seen. */
export interface SymptomModel {
  readonly route: Route
  readonly symptom: SymptomId
  readonly causes: readonly Cause[]
  /** Ids of the causes that bring it about, and of those that would have shown in another way before. */
  readonly shows: readonly string[]
  readonly excludes: readonly string[]
  readonly facts: readonly FactModel[]
}
export interface FactModel {
  readonly spec: FactSpec
  /** Ids of the causes that make it look unsound. */
  readonly shows: readonly string[]
}

const place = (symptom: SymptomId | 'none'): number =>
  symptom === 'none' ? SYMPTOMS.length : SYMPTOMS.indexOf(symptom)

/** Of the table, what matters for this symptom. */
export function modelSymptom(table: TableModel, symptom: SymptomId): SymptomModel {
  const at = place(symptom)
  const explaining = table.causes.filter(({ forms }) => forms.some(form => form.symptom === symptom))
  const earlier = table.causes.filter(({ forms }) => forms.every(form => place(form.symptom) < at))
  const shows = explaining.map(({ cause }) => cause.id)
  const excludes = earlier.map(({ cause }) => cause.id)
  const open = table.causes.filter(({ cause }) => !excludes.includes(cause.id))
  const facts = FACTS.filter(spec => spec.routes.includes(table.route))
    .map(spec => ({
      spec,
      shows: open.filter(one => looksUnsound(spec, one, symptom)).map(({ cause }) => cause.id),
    }))
    .filter(fact => tellsApart(fact.shows, shows))
  return { route: table.route, symptom, causes: open.map(({ cause }) => cause), shows, excludes, facts }
}

/** A fact that all or none of the explanations show in is no help. */
function tellsApart(factShows: readonly string[], symptomShows: readonly string[]): boolean {
  const inBoth = symptomShows.filter(id => factShows.includes(id)).length
  return inBoth > 0 && inBoth < symptomShows.length
}

type ByRule = Extract<FactSpec['by'], { kind: 'rule' }>

/** Does the rule not hold there, on the side that is asked about? */
export const isBroken = ({ rule, side }: ByRule, { broken }: Seen): boolean =>
  broken.has(rule) && (side === undefined || broken.get(rule) === side)

/** Is it this that the cause is about? */
export const isAbout = ({ rule, side }: ByRule, cause: Cause): boolean =>
  cause.rule === rule && (side === undefined || cause.side === side)

/** Does this fact look unsound with this cause alone, in most of the forms that give the symptom? */
export function looksUnsound({ by }: FactSpec, { cause, forms }: CauseModel, symptom: SymptomId): boolean {
  const ofSymptom = forms.filter(form => form.symptom === symptom)
  const those = ofSymptom.length > 0 ? ofSymptom : forms
  if (by.kind === 'swap') return cause.part !== by.part && those.some(form => form.symptom !== 'none')
  const isUnsound = (form: Seen) =>
    by.kind === 'rule'
      ? isBroken(by, form) || isAbout(by, cause)
      : by.kind === 'observable' && form.unsound.has(by.observable)
  return those.filter(isUnsound).length * 2 > those.length
}

const KNOWLEDGE_OF_RATES = 50

/**
 * Prior probabilities: the stated rates count as much as fifty cases would, one's own counts as what they are.
 * Dirichlet prior with multinomial counts: Gelman and others, Bayesian Data Analysis, section 3.4.
 */
export function priorsOf(
  causes: readonly Cause[],
  counts: Readonly<Record<string, number>>,
): ReadonlyMap<string, number> {
  const rates = causes.reduce((sum, { perThousand }) => sum + perThousand, 0)
  const counted = causes.reduce((sum, { id }) => sum + (counts[id] ?? 0), 0)
  return new Map(
    causes.map(({ id, perThousand }) => [
      id,
      ((KNOWLEDGE_OF_RATES * perThousand) / rates + (counts[id] ?? 0)) / (KNOWLEDGE_OF_RATES + counted),
    ]),
  )
}

export const systemCauses = (
  causes: readonly Cause[],
  counts: Readonly<Record<string, number>>,
): SystemCause[] => {
  const priors = priorsOf(causes, counts)
  return causes.map(({ id, repair }) => ({
    id,
    // A single cause on a table would otherwise be certain before anything is known.
    prior: Math.min(0.9, Math.max(1e-6, priors.get(id) ?? 0)),
    repairMinutes: repair.minutes + (repair.reversible ? 0 : 30),
  }))
}

/** What is known beside the answers; all of it may be missing. */
export interface KnownBefore {
  /** How often each cause was found before. */
  readonly counts?: Readonly<Record<string, number>>
  /** Ids of causes that were put right without the symptom going away. */
  readonly tried?: readonly string[]
  /** Ids of facts that were looked at twice, both times with the same answer. */
  readonly confirmed?: readonly string[]
}

/** Probability that both of two looks that agree are wrong. */
const twice = (misread: number): number => misread ** 2 / (misread ** 2 + (1 - misread) ** 2)

/** What looking can cost beside the time, where something can happen; in minutes. Common practice, no source. */
const RISK_MINUTES = 2

/**
 * What there is to reason about for this symptom. A fact that was looked at twice, both times with the same answer, is
 * misread only where both looks were wrong.
 */
export function systemOf(model: SymptomModel, known: KnownBefore): System {
  const { counts = {}, tried = [], confirmed = [] } = known
  return {
    causes: systemCauses(model.causes, counts),
    facts: model.facts.map(({ spec, shows }) => ({
      id: spec.id,
      shows,
      minutes: spec.minutes + (spec.risk === undefined ? 0 : RISK_MINUTES),
      hurts: spec.risk !== undefined,
      misread: confirmed.includes(spec.id) ? twice(spec.misread) : spec.misread,
    })),
    symptom: { shows: model.shows, excludes: model.excludes },
    repaired: tried,
  }
}
