import type { Bench } from '../model/bench.ts'
import { isKnown, type Known, type Route } from '../model/units.ts'
import type { RuleId } from './rule-ids.ts'
import type { ImageFacts, Situation } from './situation.ts'

/** Who stands by the rule when it is broken. `physics`: nobody refuses, it simply does not work, or breaks. */
export type EnforcedBy = 'computer' | 'card' | 'radio' | 'module' | 'receiver' | 'physics'

/**
 * One compatibility fact. The Firmware view ranks by it, the simulated devices refuse by it, the planner moves by its
 * remedies, the diagnosis searches it for causes; nothing else in the program knows the fact.
 */
export interface Rule {
  readonly id: RuleId
  readonly claim: string
  /** A published source, or `common practice`. */
  readonly source: string
  readonly severity: 'block' | 'warn'
  readonly enforcedBy: EnforcedBy
  /**
   * All that it looks at of the image; left out where it looks at nothing of it. Images that are the same in this are
   * the same to the rule, so thousands of them are ranked by asking it a few times.
   */
  readonly looksAt?: readonly (keyof ImageFacts)[]
  readonly applies: (s: Situation) => boolean
  readonly check: (s: Situation) => Check
}

export interface Check {
  /** `unknown` when something it depends on is not known; that is never treated as fine. */
  readonly holds: 'yes' | 'no' | 'unknown'
  readonly sentence: string
  /** Of a broken rule about a range: on which side of it the thing lies, a version too old below, too new above. */
  readonly side?: Side
  readonly evidence: readonly Evidence[]
  readonly remedies: readonly Remedy[]
}
export type Side = 'below' | 'above'

export interface Evidence {
  readonly label: string
  readonly value: string
  readonly known: boolean
}

/** A named change of the bench that makes a rule hold. */
export interface Remedy {
  readonly id: string
  readonly label: string
  readonly apply: (bench: Bench) => Bench
  /** Set where the remedy is to go another way, or to take another image. */
  readonly route?: Route
  readonly otherImage?: true
  readonly minutes: number
  readonly reversible: boolean
}

export interface Finding extends Check {
  readonly rule: Rule
}

export const COMMON_PRACTICE = 'common practice'

export const evidence = (label: string, value: Known<string | number | boolean> | undefined): Evidence => {
  const known = value !== undefined && isKnown<string | number | boolean>(value)
  const text = value === true ? 'yes' : value === false ? 'no' : String(value)
  return { label, value: known ? text : 'not known', known }
}

export const holds = (sentence: string, shown: readonly Evidence[]): Check => ({
  holds: 'yes',
  sentence,
  evidence: shown,
  remedies: [],
})

export const broken = (
  sentence: string,
  shown: readonly Evidence[],
  remedies: readonly Remedy[] = [],
  side?: Side,
): Check => ({ holds: 'no', sentence, evidence: shown, remedies, ...(side === undefined ? {} : { side }) })

export const notKnown = (
  sentence: string,
  shown: readonly Evidence[],
  remedies: readonly Remedy[] = [],
): Check => ({
  holds: 'unknown',
  sentence,
  evidence: shown,
  remedies,
})

export const takeOtherImage = (label: string): Remedy => ({
  id: 'other-image',
  label,
  apply: bench => bench,
  otherImage: true,
  minutes: 5,
  reversible: true,
})

export const goByCable = (label: string): Remedy => ({
  id: 'go-by-cable',
  label,
  apply: bench => bench,
  route: 'cable',
  minutes: 10,
  reversible: true,
})

type UnitList = 'radios' | 'modules' | 'receivers' | 'supplies' | 'cables' | 'cards'

/** The bench with one unit changed. */
export function withUnit<K extends UnitList>(
  bench: Bench,
  list: K,
  id: string | undefined,
  change: Partial<Bench[K][number]>,
): Bench {
  return { ...bench, [list]: bench[list].map(unit => (unit.id === id ? { ...unit, ...change } : unit)) }
}
