import valid from 'semver/functions/valid.js'
import validRange from 'semver/ranges/valid.js'
import { z } from 'zod'

/** What nobody has looked up yet. It stays unknown everywhere and is never treated as fine. */
export const UNKNOWN = 'unknown'
export type Known<T> = T | typeof UNKNOWN

export const known = <S extends z.ZodType>(schema: S) => z.union([schema, z.literal(UNKNOWN)])

export function isKnown<T>(value: Known<T>): value is T {
  return value !== UNKNOWN
}

/** Ids are what files and the command line use: lower case letters, digits, dots and hyphens. */
export const idSchema = z
  .string()
  .min(1)
  .max(64)
  .regex(/^[a-z0-9][a-z0-9.-]*$/, 'an id of lower case letters, digits, dots and hyphens')

/**
 * The id of what others name by an id or by `unknown`. Nothing may be called that, or "not known" would name it.
 */
export const ownIdSchema = idSchema.refine(
  id => id !== UNKNOWN,
  `another id: "${UNKNOWN}" stands for what nobody has looked up`,
)

export const labelSchema = z.string().trim().min(1).max(80)
export const noteSchema = z.string().max(2000).optional()

/**
 * Semantic Versioning 2.0.0, item 2 and 9; build metadata is allowed and does not count. What passes here is what
 * the comparisons of the rules accept: no leading zeros, no empty parts.
 */
export const versionSchema = z
  .string()
  .max(64)
  .regex(/^\d{1,9}\.\d{1,9}\.\d{1,9}(-[0-9A-Za-z.-]+)?(\+[0-9A-Za-z.-]+)?$/, 'a version such as 2.3.1')
  .refine(text => valid(text) !== null, 'a version such as 2.3.1, without leading zeros or empty parts')
export const rangeSchema = z
  .string()
  .min(1)
  .max(120)
  .refine(text => validRange(text) !== null, 'a range of versions such as ">=4.0.0 <7.0.0"')

export const bandSchema = z.enum(['2.4GHz', '868MHz', '915MHz'])
export type Band = z.infer<typeof bandSchema>

/** Middle of the band in MHz, for path loss and for the screen. */
export const bandMegahertz: Readonly<Record<Band, number>> = {
  '2.4GHz': 2441,
  '868MHz': 866.5,
  '915MHz': 915,
}

/**
 * How the link shares the air. `lbt`: it listens before it talks (ETSI EN 300 328, EN 300 220-2);
 * `hopping`: it hops without listening, within dwell limits (47 CFR 15.247).
 */
export const regionSchema = z.enum(['lbt', 'hopping'])
export type Region = z.infer<typeof regionSchema>

export const regionWords: Readonly<Record<Known<Region>, string>> = {
  lbt: 'listen-before-talk',
  hopping: 'hopping without listening',
  unknown: 'region not known',
}

export const routeSchema = z.enum(['cable', 'wireless'])
export type Route = z.infer<typeof routeSchema>

/** Successive incompatible revisions of a link family, from 1. */
export const generationSchema = z.number().int().min(1).max(9)

export const voltsSchema = z.number().min(0).max(60)
export const milliampsSchema = z.number().min(0).max(20_000)

/** Octets in a message. (zod's `instanceof` would pin the kind of buffer behind them.) */
export const octetsSchema = z.custom<Uint8Array>(value => value instanceof Uint8Array, 'octets')
