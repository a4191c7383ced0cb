import { z } from 'zod'
import { looksSchema } from './looks.ts'
import {
  bandSchema,
  generationSchema,
  idSchema,
  known,
  labelSchema,
  milliampsSchema,
  noteSchema,
  ownIdSchema,
  rangeSchema,
  versionSchema,
  voltsSchema,
} from './units.ts'

/** The catalogue says what kinds of things there are; what lies on the table is in `gear.ts`. */

const typeBase = { id: ownIdSchema, maker: labelSchema, name: labelSchema, note: noteSchema }

/** Where the claims about a type come from, so that a person can judge and correct them. */
export const claimSourceSchema = z.object({
  text: z.string().max(200),
  date: z.iso.date({ error: 'a date such as 2026-11-25' }).optional(),
})

/** What a pin of a connector is, seen from the device that has it. */
export const pinRoleSchema = z.enum([
  'signal',
  'positive',
  'negative',
  'transmit',
  'receive',
  'boot',
  'reset',
  'not-used',
])

export type PinRole = z.infer<typeof pinRoleSchema>

export const connectorSchema = z.object({
  id: ownIdSchema,
  name: labelSchema,
  /**
   * Pins in order, seen on the mating face with the key up. `signal` is a line for both directions; `transmit` and
   * `receive` are seen from the device that has the connector. `boot` and `reset` are inputs that bring it into its
   * boot loader and start it anew.
   */
  pins: z
    .array(
      z.object({
        name: labelSchema,
        role: pinRoleSchema,
      }),
    )
    .min(1)
    .max(16),
  keyed: known(z.boolean()),
  source: claimSourceSchema.optional(),
})
export type Connector = z.infer<typeof connectorSchema>

export const radioTypeSchema = z.object({
  ...typeBase,
  bays: z.array(z.enum(['internal', 'external'])).min(1),
  /** How its storage is reached from a computer. */
  storage: z.object({
    internal: z.boolean(),
    card: z.boolean(),
    reachedBy: known(z.enum(['start-in-storage-mode', 'choose-when-usb-goes-in'])),
  }),
  /** The port the update cable goes into; it can feed the receiver. */
  updatePort: known(
    z.object({
      connectorId: idSchema,
      supplyVolts: voltsSchema,
      limitMilliamps: milliampsSchema,
      sourceOhms: z.number().min(0).max(100),
    }),
  ),
  battery: z.object({
    cells: z.number().int().min(1).max(12),
    fullVolts: voltsSchema,
    /** Below this the radio does not start an update. */
    updateMinVolts: known(voltsSchema),
    /** Below this the radio switches itself off. */
    cutOffVolts: voltsSchema,
    internalOhms: z.number().min(0).max(10),
  }),
  source: claimSourceSchema.optional(),
})
export type RadioType = z.infer<typeof radioTypeSchema>

export const moduleTypeSchema = z.object({
  ...typeBase,
  family: labelSchema,
  bay: z.enum(['internal', 'external']),
  bands: z.array(bandSchema).min(1),
  /** What its hardware can transmit. New firmware neither adds to this nor takes from it. */
  generations: known(z.array(generationSchema).min(1)),
  wirelessUpdate: known(z.boolean()),
  powerDbm: z.number().min(-20).max(30),
  antennaGainDbi: z.number().min(-20).max(20).default(2),
  drawMilliamps: milliampsSchema.default(250),
  source: claimSourceSchema.optional(),
})
export type ModuleType = z.infer<typeof moduleTypeSchema>

/** The bus numbers pages with 16 bits. */
const MOST_PAGES = 0xffff

/** Flash as the receiver's controller has it. Times after ST DS5319 tables 28 and 29 unless the type says other. */
export const flashSchema = z
  .object({
    programAddress: z.number().int().min(0).max(0xffff_ffff).default(0),
    programBytes: z
      .number()
      .int()
      .min(2048)
      .max(8 * 1024 * 1024),
    pageBytes: z
      .number()
      .int()
      .min(128)
      .max(128 * 1024)
      .default(1024),
    wordBytes: z.union([z.literal(2), z.literal(4), z.literal(8)]).default(2),
    eraseMs: z
      .object({ least: z.number().positive(), most: z.number().positive() })
      .default({ least: 20, most: 40 }),
    programMicros: z
      .object({ least: z.number().positive(), most: z.number().positive() })
      .default({ least: 40, most: 70 }),
    enduranceCycles: z.number().int().positive().default(10_000),
  })
  .refine(f => f.programBytes % f.pageBytes === 0, {
    message: 'program flash must be a whole number of pages',
    path: ['programBytes'],
  })
  .refine(f => f.programBytes / f.pageBytes <= MOST_PAGES, {
    message: `program flash must not have more than ${MOST_PAGES} pages, as many as the bus can number; make its pages larger`,
    path: ['pageBytes'],
  })
  .refine(f => f.programAddress + f.programBytes <= 2 ** 32, {
    message: 'program flash must end below 4 GiB',
    path: ['programAddress'],
  })
  .refine(f => f.eraseMs.least <= f.eraseMs.most && f.programMicros.least <= f.programMicros.most, {
    message: 'the shortest time must not be longer than the longest',
    path: ['eraseMs'],
  })
  .refine(f => f.pageBytes % f.wordBytes === 0, {
    message: 'a page must be a whole number of words',
    path: ['pageBytes'],
  })
export type FlashLayout = z.infer<typeof flashSchema>

export const conversionSchema = z.object({
  from: generationSchema,
  to: generationSchema,
  oneWay: z.boolean(),
  /** The conversion replaces the boot loader too; a power cut in that moment leaves only the chip's own loader. */
  replacesBootLoader: z.boolean(),
})

/** Names of dialects, the usual one first. None: nobody has looked. */
const dialectNamesSchema = z.array(idSchema).max(20)

/** A connector of a receiver that is there for its serial boot loader alone, beside the plug of the update cable. */
export const serviceConnectorSchema = z.object({
  connectorId: idSchema,
  signalVolts: z.union([z.literal(3.3), z.literal(5)]),
  /** The most its data pins stand. Without it, nobody has looked it up. */
  toleratesVolts: known(voltsSchema).optional(),
  inverted: known(z.boolean()),
  /** What is spoken there. */
  dialects: dialectNamesSchema.optional(),
})

export const receiverTypeSchema = z.object({
  ...typeBase,
  family: labelSchema,
  bands: z.array(bandSchema).min(1),
  /** The generation it speaks as delivered. */
  nativeGeneration: known(generationSchema),
  conversions: z.array(conversionSchema).default([]),
  hardwareRevisions: z.array(labelSchema).default([]),
  wirelessUpdate: known(z.boolean()),
  /** Firmware older than this takes a wireless update only after one update by cable. */
  wirelessFrom: known(versionSchema).optional(),
  channels: z.number().int().min(1).max(64),
  flash: flashSchema,
  boot: z.object({
    /** Time from entering the boot loader until it takes a write. */
    settleMs: z.number().min(0).max(60_000),
    /** After power-on the boot loader listens this long for somebody who wants it. */
    listenMs: z.number().min(0).max(60_000),
    version: known(versionSchema),
    /** False where nothing keeps a write from running over the boot loader. */
    protected: known(z.boolean()),
    /**
     * A program that the loader in the chip's ROM has started notes itself as the one to start from then on. Without
     * it the boot loader waits, after such a write, until an update over its bus.
     */
    notesRomStart: z.boolean().optional(),
  }),
  bus: z.object({
    baud: z.number().int().min(1200).max(3_000_000),
    inverted: known(z.boolean()),
    signalVolts: z.union([z.literal(3.3), z.literal(5)]),
    /** The most its signal pin stands. Without it, nobody has looked it up. */
    toleratesVolts: known(voltsSchema).optional(),
    turnaroundMicros: z.number().min(0).max(100_000).default(200),
    /** What its boot loader speaks on the same wire besides the bus. */
    dialects: dialectNamesSchema.optional(),
  }),
  /** The plug of the update cable, with the telemetry bus on its signal pin. */
  connectorId: idSchema,
  /** Without it, there is none. */
  service: serviceConnectorSchema.optional(),
  supply: z.object({
    leastVolts: voltsSchema,
    mostVolts: voltsSchema,
    /** The controller resets below this. */
    brownOutVolts: voltsSchema,
    restartVolts: voltsSchema,
  }),
  draw: z.object({
    idleMilliamps: milliampsSchema,
    bootMilliamps: milliampsSchema,
    flashMilliamps: milliampsSchema,
    radioMilliamps: milliampsSchema,
  }),
  air: z.object({
    sensitivityDbm: z.number().min(-150).max(-40),
    overloadDbm: z.number().min(-60).max(20),
    antennaGainDbi: z.number().min(-20).max(20),
  }),
  looks: looksSchema.optional(),
  source: claimSourceSchema.optional(),
})
export type ReceiverType = z.infer<typeof receiverTypeSchema>

/**
 * Which module firmware works with which receiver firmware, for one generation of a link.
 * A receiver whose firmware meets `receiverFirmware` needs a module whose firmware meets `moduleFirmware`.
 */
export const pairingSchema = z.object({
  id: idSchema,
  family: labelSchema,
  generation: generationSchema,
  receiverFirmware: rangeSchema,
  moduleFirmware: rangeSchema,
  note: noteSchema,
  source: claimSourceSchema.optional(),
})
export type Pairing = z.infer<typeof pairingSchema>

export const catalogueSchema = z.object({
  radioTypes: z.array(radioTypeSchema).max(2000),
  moduleTypes: z.array(moduleTypeSchema).max(2000),
  receiverTypes: z.array(receiverTypeSchema).max(2000),
  connectors: z.array(connectorSchema).max(2000),
  pairings: z.array(pairingSchema).max(2000),
})
export type Catalogue = z.infer<typeof catalogueSchema>
