import { z } from 'zod'
import { seenSchema } from './looks.ts'
import {
  bandSchema,
  generationSchema,
  idSchema,
  known,
  labelSchema,
  milliampsSchema,
  noteSchema,
  regionSchema,
  versionSchema,
  voltsSchema,
} from './units.ts'

/** One physical piece each, as it lies on the table. */

/** No connector that an update goes through has more. */
const MOST_PINS = 16

export const moduleUnitSchema = z.object({
  id: idSchema,
  nickname: labelSchema,
  typeId: idSchema,
  firmware: known(versionSchema),
  region: known(regionSchema),
  on: z.boolean(),
  band: bandSchema,
  generation: known(generationSchema),
  note: noteSchema,
})
export type ModuleUnit = z.infer<typeof moduleUnitSchema>

export const radioUnitSchema = z.object({
  id: idSchema,
  nickname: labelSchema,
  typeId: idSchema,
  systemVersion: known(versionSchema),
  batteryVolts: voltsSchema,
  moduleIds: z.array(idSchema).max(4),
  cardId: idSchema.optional(),
  note: noteSchema,
})
export type RadioUnit = z.infer<typeof radioUnitSchema>

export const receiverUnitSchema = z.object({
  id: idSchema,
  nickname: labelSchema,
  /** A type of the catalogue, or `unknown`, which no type may be called. */
  typeId: known(idSchema),
  /** What was looked at where the type could not be read off a label. */
  seen: seenSchema.optional(),
  hardwareRevision: known(labelSchema),
  firmware: known(versionSchema),
  region: known(regionSchema),
  generation: known(generationSchema),
  /** The module it is bound to, if any. */
  boundTo: idSchema.optional(),
  /** Never updated since it left the factory. */
  factoryFresh: z.boolean().default(false),
  note: noteSchema,
})
export type ReceiverUnit = z.infer<typeof receiverUnitSchema>

export const supplyUnitSchema = z.object({
  id: idSchema,
  nickname: labelSchema,
  kind: z.enum(['pack', 'regulator', 'usb']),
  volts: voltsSchema,
  internalOhms: z.number().min(0).max(100),
  limitMilliamps: milliampsSchema,
  note: noteSchema,
})
export type SupplyUnit = z.infer<typeof supplyUnitSchema>

export const cableUnitSchema = z.object({
  id: idSchema,
  nickname: labelSchema,
  lengthMetres: z.number().min(0.01).max(20),
  /** American wire gauge of its conductors, ASTM B258. */
  awg: z.number().int().min(10).max(40),
  /** Which role at the radio's end meets which role at the receiver's end. */
  wires: z
    .array(
      z.object({
        from: z.enum(['signal', 'positive', 'negative']),
        to: z.enum(['signal', 'positive', 'negative']),
      }),
    )
    .max(8),
  /** Of a cable for an adapter: which pin of the adapter meets which pin of the receiver, both counted from 1. */
  pinWires: z
    .array(
      z.object({
        from: z.number().int().min(1).max(MOST_PINS),
        to: z.number().int().min(1).max(MOST_PINS),
        /** A diode has its ring at the adapter's end: it lets the adapter pull the line down and nothing else. */
        through: z.enum(['wire', 'resistor', 'diode']),
        /** Of the resistor. */
        ohms: z.number().min(1).max(1_000_000).optional(),
      }),
    )
    .max(32)
    .optional(),
  /** Does the plug at the receiver's end go in one way only? Without it, nobody has looked. */
  plugKeyed: known(z.boolean()).optional(),
  note: noteSchema,
})
export type CableUnit = z.infer<typeof cableUnitSchema>
export type PinWire = NonNullable<CableUnit['pinWires']>[number]

/** What a pin of a USB serial adapter is, seen from the adapter. */
export const adapterRoleSchema = z.enum([
  'ground',
  'supply',
  'transmit',
  'receive',
  /** Sends and hears on one pin; what joins both sits inside the adapter. */
  'single-wire',
  'dtr',
  'rts',
  'not-used',
])
export type AdapterRole = z.infer<typeof adapterRoleSchema>

/** A USB serial adapter with its connector. */
export const adapterUnitSchema = z.object({
  id: idSchema,
  nickname: labelSchema,
  /** The key of the port that this piece was recognised by, so that port and wiring are known to belong together. */
  portKey: z.string().trim().min(1).max(200).optional(),
  /** In order, as they are counted on its connector. */
  pins: z
    .array(z.object({ name: labelSchema, role: adapterRoleSchema }))
    .min(1)
    .max(MOST_PINS),
  keyed: known(z.boolean()),
  /** Level of its data pins when they are high. */
  signalVolts: known(z.union([z.literal(1.8), z.literal(3.3), z.literal(5)])),
  /** The most its data pins stand. */
  toleratesVolts: known(voltsSchema),
  /** Are its lines inverted, so that they lie low at rest? */
  inverts: known(z.boolean()),
  /** What its supply pin gives; without it, it has none. */
  supply: known(
    z.object({
      volts: voltsSchema,
      limitMilliamps: milliampsSchema,
      sourceOhms: z.number().min(0).max(100),
    }),
  ).optional(),
  note: noteSchema,
})
export type AdapterUnit = z.infer<typeof adapterUnitSchema>

export const cardUnitSchema = z.object({
  id: idSchema,
  nickname: labelSchema,
  capacityBytes: z
    .number()
    .int()
    .min(0)
    .max(2 ** 41),
  freeBytes: z
    .number()
    .int()
    .min(0)
    .max(2 ** 41),
  clusterBytes: z
    .number()
    .int()
    .min(512)
    .max(1 << 20)
    .default(4096),
  readOnly: z.boolean().default(false),
  writeBytesPerSecond: z.number().int().min(1000).max(500_000_000).default(2_000_000),
  folder: z.string().max(120).default('IMAGES'),
  note: noteSchema,
})
export type CardUnit = z.infer<typeof cardUnitSchema>

export const sensorUnitSchema = z.object({
  id: idSchema,
  nickname: labelSchema,
  receiverId: idSchema,
  busAddress: z.number().int().min(0x20).max(0x3f),
  replyOctets: z.number().int().min(1).max(64).default(8),
})
export type SensorUnit = z.infer<typeof sensorUnitSchema>

export const modelSchema = z.object({
  id: idSchema,
  name: labelSchema,
  kind: z.enum(['aeroplane', 'glider', 'helicopter', 'multirotor', 'boat', 'car']),
  radioId: idSchema,
  moduleId: idSchema,
  receiverIds: z.array(idSchema).min(1).max(4),
  supplyId: idSchema,
  servos: z.number().int().min(0).max(32),
  propellerOrRotor: z.boolean(),
  note: noteSchema,
})
export type Model = z.infer<typeof modelSchema>

/** How the table is set up for an update: what feeds what, and how far apart things lie. */
export const wiringSchema = z.object({
  cableId: idSchema.optional(),
  /** What feeds the receiver during a cable update: the radio through the cable, a supply of its own, or both. */
  cableFeed: z.enum(['through-cable', 'own-supply', 'both']),
  /** The supply for a wireless update of a receiver that is in no model. */
  benchSupplyId: idSchema.optional(),
  distanceMetres: z.number().min(0.01).max(20_000),
})
export type Wiring = z.infer<typeof wiringSchema>
