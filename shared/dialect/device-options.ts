import type { Dice } from '../sim/dice.ts'
import type { DeviceFault } from './device-faults.ts'
import type { DeviceMemory } from './device-memory.ts'
import type { WorkTimes } from './device-work.ts'
import type { Dialect } from './schema.ts'

/** What an emulated receiver is made of. */
export interface DeviceOptions {
  readonly dialect: Dialect
  readonly memory: DeviceMemory
  readonly fault?: DeviceFault
  /** What it says for captures, by name, instead of the examples in the dialect. */
  readonly says?: Readonly<Record<string, Uint8Array>>
  /** Replies that it prefers where several would do: `sumStart` makes XMODEM use its one-octet sum. */
  readonly prefers?: readonly string[]
  /** From the last octet heard to the first one said. */
  readonly turnaroundNs?: number
  readonly times?: WorkTimes
  /** How long the line has to be quiet before it complains about what it did not understand. */
  readonly quietNs?: number
  /** For garbage; all of it is the same without. */
  readonly dice?: Dice
}
