/**
 * What a diagnosis reasons about, and nothing of where it comes from: causes that may be present, and facts that they
 * make look unsound. Causes come about independently of each other; a fact looks unsound as soon as one of the causes
 * that it shows is present, and sound otherwise, but for misreadings.
 */
export interface SystemCause {
  readonly id: string
  /** Probability that it is present, before anything is known; above 0, below 1. */
  readonly prior: number
  /** What its repair costs, time and risk together, in minutes; above 0. */
  readonly repairMinutes: number
}

export interface SystemFact {
  readonly id: string
  /** Ids of the causes any one of which makes it look unsound. */
  readonly shows: readonly string[]
  /** What looking costs, time and risk together, in minutes; above 0. */
  readonly minutes: number
  /** True where looking can hurt somebody or break something. */
  readonly hurts: boolean
  /** Probability that somebody reads the opposite of what is there; 0 up to below 0.5. */
  readonly misread: number
}

export interface System {
  readonly causes: readonly SystemCause[]
  readonly facts: readonly SystemFact[]
  readonly symptom: {
    /** Ids of the causes that bring the symptom about. */
    readonly shows: readonly string[]
    /** Ids of the causes that would have shown in another way before it came to this. */
    readonly excludes: readonly string[]
  }
  /**
   * Ids of causes that were put right without the symptom going away: they no longer bring it about, but what was read
   * before may have been of them.
   */
  readonly repaired?: readonly string[]
}

export type Reading = 'sound' | 'unsound'
/** What has been observed, by fact id. What is missing is not known. */
export type Readings = ReadonlyMap<string, Reading>

/** Sets larger than this are not looked at: three things at once on one bench are rare, and seldom told apart. */
export const MOST_FAULTS = 3

/** The facts of a system that somebody has read, in the order of the system. */
export const readFacts = (system: System, readings: Readings): readonly SystemFact[] =>
  system.facts.filter(fact => readings.has(fact.id))
