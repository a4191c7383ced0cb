import { BUS_DIALECT } from '../dialect/bus-write.ts'
import { type Bench, findType } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { isKnown } from '../model/units.ts'
import { builtInChosen } from './chosen.ts'

/** What the boot loaders of a receiver speak, as its type states it, and where. */
export interface SpokenBy {
  /** Names of dialects, the usual one first. */
  readonly atService: readonly string[]
  /** The Preflash bus, and what else is spoken on its wire. */
  readonly atPlug: readonly string[]
  /** Somebody has looked it up: what is in neither list is not spoken. */
  readonly isStated: boolean
}

export function spokenBy({ service, bus }: ReceiverType): SpokenBy {
  const atService = service?.dialects ?? []
  const more = bus.dialects ?? []
  return { atService, atPlug: [BUS_DIALECT, ...more], isStated: atService.length + more.length > 0 }
}

/** @returns undefined for a receiver that is not on the bench, or whose type nobody knows */
export function typeOfReceiver(bench: Bench, receiverId: string): ReceiverType | undefined {
  const typeId = bench.receivers.find(r => r.id === receiverId)?.typeId
  return typeId !== undefined && isKnown(typeId)
    ? findType(bench.catalogue, 'receiverTypes', typeId)
    : undefined
}

/**
 * What one takes for a receiver of this type when nothing else is said.
 * @returns undefined where it has a service connector, and nobody has looked up what is spoken there
 */
export function usualDialect(type: ReceiverType): string | undefined {
  const { atService } = spokenBy(type)
  return type.service === undefined ? BUS_DIALECT : atService[0]
}

const quoted = (name: string): string => `“${builtInChosen(name)?.title ?? name}”`
const list = (names: readonly string[]): string =>
  names.length < 2
    ? names.map(quoted).join('')
    : `${names.slice(0, -1).map(quoted).join(', ')} and ${quoted(names[names.length - 1])}`

/** @returns a sentence for people; undefined where nobody has looked it up */
export function saySpoken(type: ReceiverType): string | undefined {
  const { atService, atPlug, isStated } = spokenBy(type)
  if (!isStated) return undefined
  const plug = `${list(atPlug)} at the plug of its update cable`
  return atService.length === 0
    ? `The ${type.name} speaks ${plug}.`
    : `The ${type.name} speaks ${list(atService)} at its service connector, and ${plug}.`
}

/** Why a dialect does not do for a type, and what would. */
export interface NotSpoken {
  readonly why: string
  readonly cure: string
}

/** @returns undefined where it is spoken, or where nobody has looked up what is */
export function notSpoken(type: ReceiverType, name: string): NotSpoken | undefined {
  const { atService, atPlug } = spokenBy(type)
  const said = saySpoken(type)
  if (said === undefined || atService.includes(name) || atPlug.includes(name)) return undefined
  const usual = atService[0] ?? atPlug[0]
  return {
    why: `${said} ${quoted(name)} is not among them.`,
    cure: `Choose ${quoted(usual)}. If the papers of the receiver say otherwise, correct its type under Fleet.`,
  }
}
