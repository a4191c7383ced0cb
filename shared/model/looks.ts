import { z } from 'zod'
import { bandSchema, idSchema, known, UNKNOWN } from './units.ts'

/** What a person can see or measure of a receiver that carries no markings: what its type states, what was seen. */

export const antennaKindSchema = z.enum(['wire', 'coaxial', 'sleeve', 'stub', 'none'])
export type AntennaKind = z.infer<typeof antennaKindSchema>

export const antennaKindWords: Readonly<Record<AntennaKind, string>> = {
  wire: 'plain thin wire',
  coaxial: 'thin cable with a bared tip',
  sleeve: 'thick sleeve at the end of a cable',
  stub: 'short stiff stub',
  none: 'none to be seen',
}

/** How long the bared end of an antenna is: about 3 cm, or about 8 cm. */
export const antennaTipSchema = z.enum(['short', 'long'])
export type AntennaTip = z.infer<typeof antennaTipSchema>

export const antennaTipWords: Readonly<Record<AntennaTip, string>> = {
  short: 'about 3 cm bared',
  long: 'about 8 cm bared',
}

const antennaCount = z.number().int().min(0).max(4)
const outputs = z.number().int().min(0).max(64)
const millimetres = z.number().min(5).max(300)

/** What all receivers of one type look like. */
export const looksSchema = z.object({
  antennaCount: known(antennaCount).default(UNKNOWN),
  antennaKind: known(antennaKindSchema).default(UNKNOWN),
  /** Rows of pins that a servo goes into; there may be fewer than channels. */
  outputs: known(outputs).default(UNKNOWN),
  lengthMillimetres: known(millimetres).default(UNKNOWN),
  widthMillimetres: known(millimetres).default(UNKNOWN),
})
export type Looks = z.infer<typeof looksSchema>

/** What was seen of one receiver. What nobody looked at is unknown, and rules nothing out. */
export const seenSchema = z.object({
  outputs: known(outputs).default(UNKNOWN),
  antennaCount: known(antennaCount).default(UNKNOWN),
  antennaKind: known(antennaKindSchema).default(UNKNOWN),
  antennaTip: known(antennaTipSchema).default(UNKNOWN),
  lengthMillimetres: known(millimetres).default(UNKNOWN),
  /** The length may be out by so much, with a ruler held against a case with rounded corners. */
  withinMillimetres: z.number().min(0).max(50).default(3),
  connectorId: known(idSchema).default(UNKNOWN),
  /** From the box, a bill, or the radio that it flew with. */
  band: known(bandSchema).default(UNKNOWN),
})
export type Seen = z.infer<typeof seenSchema>

/** Nothing has been looked at yet. */
export const nothingSeen: Seen = seenSchema.parse({})
