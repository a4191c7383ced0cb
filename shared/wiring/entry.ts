import type { ReceiverType } from '../model/catalogue.ts'
import type { Known } from '../model/units.ts'

/** Where a programmer goes in at a receiver, and what the data pins are there. */
export interface Entry {
  readonly at: 'update-plug' | 'service'
  readonly connectorId: string
  /** Level of its data pins when they are high. */
  readonly signalVolts: number
  /** The most they stand; undefined where nobody has looked it up. */
  readonly toleratesVolts: Known<number> | undefined
  readonly inverted: Known<boolean>
}

/** What is to be spoken, as far as it is known. */
export interface Spoken {
  /** The name of the dialect. */
  readonly dialect?: string | undefined
  /** Whether it speaks both ways at once. */
  readonly duplex?: 'half' | 'full' | undefined
}

/**
 * The connector at which something is spoken: the service connector for what the type says is spoken there, and for
 * what needs two lines; the plug of the update cable for all else. Where nothing is said of it, a receiver that has a
 * service connector is written through that.
 */
export function entryOf(type: ReceiverType, { dialect, duplex }: Spoken = {}): Entry {
  const { service, bus } = type
  const atPlug = {
    at: 'update-plug',
    connectorId: type.connectorId,
    signalVolts: bus.signalVolts,
    toleratesVolts: bus.toleratesVolts,
    inverted: bus.inverted,
  } as const
  if (service === undefined) return atPlug
  const isNamed = dialect !== undefined && (service.dialects ?? []).includes(dialect)
  const isOpen = dialect === undefined && duplex === undefined
  if (!isNamed && !isOpen && duplex !== 'full') return atPlug
  const { connectorId, signalVolts, toleratesVolts, inverted } = service
  return { at: 'service', connectorId, signalVolts, toleratesVolts, inverted }
}
