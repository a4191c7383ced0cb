import type { Bench } from '../model/bench.ts'
import type { WiringChoices } from './setup.ts'

/** `danger`: parts would be destroyed, nothing can override it. `block`: it would not work, or is not known. */
export type Severity = 'danger' | 'block' | 'warn' | 'ok'

export type FindingCode =
  // what destroys
  | 'supply-reversed'
  | 'supply-on-signal'
  | 'ground-on-positive'
  | 'ground-on-signal'
  | 'data-on-positive'
  | 'data-on-negative'
  | 'signal-over-volts'
  | 'signal-below-ground'
  | 'adapter-over-volts'
  | 'supply-too-high'
  | 'supply-short'
  | 'two-supplies'
  // what does not work
  | 'receiver-not-known'
  | 'wire-to-no-pin'
  | 'no-ground'
  | 'no-supply'
  | 'supply-not-known'
  | 'supply-into-adapter'
  | 'supply-too-low'
  | 'supply-load'
  | 'part-in-supply-wire'
  | 'unused-pin-driven'
  | 'not-connected'
  | 'receive-only'
  | 'transmit-only'
  | 'transmit-to-transmit'
  | 'hears-nothing'
  | 'control-on-line'
  | 'data-on-control'
  | 'control-held'
  | 'control-swapped'
  | 'needs-two-lines'
  | 'join-without-part'
  | 'join-weak'
  | 'diode-on-inverted'
  | 'diode-in-answer'
  | 'diode-pull-up'
  | 'inverted-line'
  | 'inversion-not-known'
  | 'level-not-known'
  | 'level-too-low'
  | 'tolerance-not-known'
  // what has to be looked at
  | 'plug-can-turn'
  | 'servos-on-adapter'
  | 'control-by-hand'
  | 'control-unasked'
  // what is right
  | 'polarity'
  | 'ground'
  | 'line'
  | 'levels'
  | 'control'
  | 'one-supply'
  | 'budget'
  | 'keyed'

/** A change that would cure a finding: of the bench, of what was chosen, or something to look up. */
export interface Cure {
  readonly id: string
  /** What the person does with their hands, as a sentence. */
  readonly label: string
  /** What stands on the bench afterwards. */
  readonly apply?: (bench: Bench) => Bench
  readonly choose?: Partial<WiringChoices>
}

export interface WiringFinding {
  readonly code: FindingCode
  readonly severity: Severity
  /** Pin of the receiver, from 1; undefined where it is about no single pin. */
  readonly pin?: number
  readonly adapterPin?: number
  readonly volts?: number
  readonly why: string
  readonly cure?: Cure
}

/** Two figures after the point where it is about tenths, one otherwise; never "-0.0". */
export const sayVolts = (volts: number): string => {
  const text = Math.abs(volts) < 1 ? volts.toFixed(2) : volts.toFixed(1)
  return `${Number(text) === 0 ? '0' : text} V`
}

export const sayMilliamps = (milliamps: number): string =>
  milliamps >= 1000 ? `${(milliamps / 1000).toFixed(1)} A` : `${Math.round(milliamps)} mA`
