import type { z } from 'zod'
import { type Bench, benchSchema, builtImageSchema } from '../../shared/model/bench.ts'
import {
  connectorSchema,
  moduleTypeSchema,
  pairingSchema,
  radioTypeSchema,
  receiverTypeSchema,
} from '../../shared/model/catalogue.ts'
import {
  adapterUnitSchema,
  cableUnitSchema,
  cardUnitSchema,
  modelSchema,
  moduleUnitSchema,
  radioUnitSchema,
  receiverUnitSchema,
  sensorUnitSchema,
  supplyUnitSchema,
} from '../../shared/model/gear.ts'
import { blanks } from './blanks.ts'
import type { FieldSpec } from './field-spec.ts'
import {
  connectorFields,
  imageFields,
  moduleTypeFields,
  pairingFields,
  radioTypeFields,
  receiverTypeFields,
} from './fields-catalogue.ts'
import {
  adapterFields,
  benchFields,
  cableFields,
  cardFields,
  modelFields,
  moduleFields,
  radioFields,
  receiverFields,
  sensorFields,
  supplyFields,
} from './fields-gear.ts'

export const GEAR_KINDS = [
  'receivers',
  'models',
  'modules',
  'radios',
  'supplies',
  'cables',
  'adapters',
  'cards',
  'sensors',
] as const
export const CATALOGUE_KINDS = [
  'receiverTypes',
  'moduleTypes',
  'radioTypes',
  'connectors',
  'pairings',
] as const
export const KINDS = [...GEAR_KINDS, ...CATALOGUE_KINDS, 'images'] as const
export type Kind = (typeof KINDS)[number]

/** One thing of any kind, as the form sees it. */
export interface Entry {
  readonly id: string
  readonly [field: string]: unknown
}

export interface KindSpec {
  readonly one: string
  readonly many: string
  /** What this kind is, for somebody who sees the word for the first time. */
  readonly about: string
  readonly schema: z.ZodType
  readonly fields: readonly FieldSpec[]
  /** Fields that the list shows beside the name. */
  readonly columns: readonly string[]
  readonly blank: (bench: Bench) => Entry
}

export const kinds: Readonly<Record<Kind, KindSpec>> = {
  receivers: {
    one: 'receiver',
    many: 'receivers',
    about: 'Each single receiver, in a model or in its bag.',
    schema: receiverUnitSchema,
    fields: receiverFields,
    columns: ['typeId', 'firmware', 'generation', 'region', 'boundTo'],
    blank: blanks.receivers,
  },
  models: {
    one: 'model',
    many: 'models',
    about: 'What flies, floats or drives, with the receivers in it.',
    schema: modelSchema,
    fields: modelFields,
    columns: ['kind', 'receiverIds', 'moduleId', 'supplyId'],
    blank: blanks.models,
  },
  modules: {
    one: 'module',
    many: 'modules',
    about: 'The RF modules, each in one of the radios.',
    schema: moduleUnitSchema,
    fields: moduleFields,
    columns: ['typeId', 'firmware', 'on', 'band', 'generation'],
    blank: blanks.modules,
  },
  radios: {
    one: 'radio',
    many: 'radios',
    about: 'What you hold in your hands.',
    schema: radioUnitSchema,
    fields: radioFields,
    columns: ['typeId', 'systemVersion', 'batteryVolts', 'moduleIds', 'cardId'],
    blank: blanks.radios,
  },
  supplies: {
    one: 'supply',
    many: 'supplies',
    about: 'Packs and regulators that feed receivers.',
    schema: supplyUnitSchema,
    fields: supplyFields,
    columns: ['kind', 'volts', 'limitMilliamps'],
    blank: blanks.supplies,
  },
  cables: {
    one: 'cable',
    many: 'cables',
    about: 'Update cables, wire by wire.',
    schema: cableUnitSchema,
    fields: cableFields,
    columns: ['lengthMetres', 'awg', 'wires', 'pinWires'],
    blank: blanks.cables,
  },
  adapters: {
    one: 'adapter',
    many: 'adapters',
    about: 'USB serial adapters that write receivers, pin by pin.',
    schema: adapterUnitSchema,
    fields: adapterFields,
    columns: ['signalVolts', 'toleratesVolts', 'inverts', 'pins'],
    blank: blanks.adapters,
  },
  cards: {
    one: 'card',
    many: 'cards',
    about: 'Memory cards that carry images into a radio.',
    schema: cardUnitSchema,
    fields: cardFields,
    columns: ['capacityBytes', 'freeBytes', 'readOnly'],
    blank: blanks.cards,
  },
  sensors: {
    one: 'sensor',
    many: 'sensors',
    about: 'Telemetry sensors, which share the line with an update.',
    schema: sensorUnitSchema,
    fields: sensorFields,
    columns: ['receiverId', 'busAddress', 'replyOctets'],
    blank: blanks.sensors,
  },
  receiverTypes: {
    one: 'receiver type',
    many: 'receiver types',
    about: 'What all receivers of one type have in common.',
    schema: receiverTypeSchema,
    fields: receiverTypeFields,
    columns: ['family', 'nativeGeneration', 'bands', 'wirelessUpdate', 'flash.programBytes'],
    blank: blanks.receiverTypes,
  },
  moduleTypes: {
    one: 'module type',
    many: 'module types',
    about: 'What all modules of one type can transmit.',
    schema: moduleTypeSchema,
    fields: moduleTypeFields,
    columns: ['family', 'bay', 'bands', 'generations', 'wirelessUpdate'],
    blank: blanks.moduleTypes,
  },
  radioTypes: {
    one: 'radio type',
    many: 'radio types',
    about: 'Bays, storage, update port and battery of a type of radio.',
    schema: radioTypeSchema,
    fields: radioTypeFields,
    columns: ['bays', 'storage.reachedBy', 'battery.updateMinVolts'],
    blank: blanks.radioTypes,
  },
  connectors: {
    one: 'connector',
    many: 'connectors',
    about: 'Plugs and their pins.',
    schema: connectorSchema,
    fields: connectorFields,
    columns: ['keyed', 'pins'],
    blank: blanks.connectors,
  },
  pairings: {
    one: 'pairing',
    many: 'pairings',
    about: 'Which receiver firmware works with which module firmware.',
    schema: pairingSchema,
    fields: pairingFields,
    columns: ['moduleFirmware', 'note'],
    blank: blanks.pairings,
  },
  images: {
    one: 'image',
    many: 'images',
    about: 'Firmware images that the bench builds itself, for rehearsals.',
    schema: builtImageSchema,
    fields: imageFields,
    columns: ['typeId', 'version', 'generation', 'sizeBytes', 'wirelessCapable'],
    blank: blanks.images,
  },
}

/** The bench's own fields, which stand in no list. */
export const benchSelf = {
  schema: benchSchema.pick({ name: true, note: true, wiring: true }),
  fields: benchFields,
} as const

export const isKind = (text: string): text is Kind => KINDS.some(kind => kind === text)

export const isCatalogue = (kind: Kind): kind is (typeof CATALOGUE_KINDS)[number] =>
  CATALOGUE_KINDS.some(other => other === kind)

/** Where the list stands in a bench file. */
export const listPath = (kind: Kind): string => (isCatalogue(kind) ? `catalogue.${kind}` : kind)

export const listOf = (bench: Bench, kind: Kind): readonly Entry[] =>
  isCatalogue(kind) ? bench.catalogue[kind] : bench[kind]

/** The bench with another list. The entries are as the form left them: `checkBench` has to see the result. */
export const withList = (bench: Bench, kind: Kind, list: readonly Entry[]): Bench =>
  isCatalogue(kind)
    ? { ...bench, catalogue: { ...bench.catalogue, [kind]: list } }
    : { ...bench, [kind]: list }

export const findEntry = (bench: Bench, kind: Kind, id: string | undefined): Entry | undefined =>
  listOf(bench, kind).find(entry => entry.id === id)

/** What a person calls it. */
export function nameOf(kind: Kind, entry: Entry): string {
  const { nickname, maker, name, family, generation, receiverFirmware } = entry
  if (kind === 'pairings') return `${family} generation ${generation}, receivers ${receiverFirmware}`
  if (nickname !== undefined) return String(nickname)
  return maker === undefined ? String(name) : `${maker} ${name}`.trim()
}
