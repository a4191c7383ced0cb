import type { CableWire, DeviceChange, DeviceId, Phase, SupplyLog, Trace } from '../../../shared/sim/trace.ts'
import { upperBound } from '../../../shared/wire/lane-index.ts'

export interface DeviceState {
  readonly state: string
  readonly alive: boolean
  /** Of the cable: what it joins. */
  readonly wires?: readonly CableWire[] | undefined
}

/** The last change of each device up to this moment. */
export function devicesAt(changes: readonly DeviceChange[], atNs: number): Map<DeviceId, DeviceState> {
  const states = new Map<DeviceId, DeviceState>()
  for (const { device, state, alive, wires, atNs: changedNs } of changes) {
    if (changedNs > atNs) break
    states.set(device, { state, alive, wires })
  }
  return states
}

/** Index of the phase under way, or of the last one before this moment; -1 before the first. */
export function phaseIndexAt(phases: readonly Phase[], atNs: number): number {
  let found = -1
  for (let i = 0; i < phases.length && phases[i].startNs <= atNs; i++) found = i
  return found
}

export interface Progress {
  readonly done: number
  readonly total: number
}

/** How far this phase has got; undefined where it has not said. */
export function progressAt(trace: Trace, phaseIndex: number, atNs: number): Progress | undefined {
  const { progress } = trace
  for (let i = upperBound(progress.atNs, atNs, progress.count) - 1; i >= 0; i--) {
    if (progress.phase[i] === phaseIndex) return { done: progress.done[i], total: progress.total[i] }
    if (progress.phase[i] < phaseIndex) return undefined
  }
  return undefined
}

export interface SupplyPoint {
  readonly volts: number
  readonly milliamps: number
}

/** The supply holds its last noted value; undefined before the first. */
export function supplyAt(supply: SupplyLog, atNs: number): SupplyPoint | undefined {
  const i = upperBound(supply.atNs, atNs, supply.count) - 1
  return i < 0 ? undefined : { volts: supply.volts[i], milliamps: supply.milliamps[i] }
}

/** Lowest and highest voltage in a span, with the value it came in with; undefined where none is known. */
export function supplyRange(supply: SupplyLog, fromNs: number, toNs: number): [number, number] | undefined {
  const first = upperBound(supply.atNs, fromNs, supply.count) - 1
  let least = Number.POSITIVE_INFINITY
  let most = Number.NEGATIVE_INFINITY
  for (let i = Math.max(0, first); i < supply.count && supply.atNs[i] < toNs; i++) {
    least = Math.min(least, supply.volts[i])
    most = Math.max(most, supply.volts[i])
  }
  return least > most ? undefined : [least, most]
}
