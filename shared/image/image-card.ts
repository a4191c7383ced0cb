import validRange from 'semver/ranges/valid.js'
import { z } from 'zod'
import { problemsOfZod } from '../model/bench.ts'
import { withLines } from '../model/field-line.ts'
import { parseJson } from '../model/parse-json.ts'
import { failed, type Result, succeeded } from '../model/problem.ts'
import {
  bandSchema,
  generationSchema,
  idSchema,
  known,
  labelSchema,
  noteSchema,
  rangeSchema,
  regionSchema,
  UNKNOWN,
  versionSchema,
} from '../model/units.ts'

/**
 * The image card: a small JSON file beside an image that says what the image is for. Its fields follow the
 * information model of RFC 9124, section 3; the section of each is named beside it. What the author did not know
 * is `unknown`, and stays so.
 */

export const MAX_CARD_CHARACTERS = 200_000

export const uuidSchema = z
  .string()
  .toLowerCase()
  .regex(
    /^[0-9a-f]{8}-[0-9a-f]{4}-5[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/,
    'a version 5 UUID such as 2ed6657d-e927-568b-95e1-2665a8aea6a2',
  )
const sha256Schema = z
  .string()
  .toLowerCase()
  .regex(/^[0-9a-f]{64}$/, 'a SHA-256 digest: 64 hexadecimal digits')
const u32Schema = z.number().int().min(0).max(0xffff_ffff)
const versionRangeSchema = rangeSchema.refine(text => validRange(text) !== null, {
  message: 'a range of versions such as ">=4.0.0 <7.0.0"',
})

export const payloadFormatSchema = z.enum(['raw', 'intel-hex', 's-record', 'uf2'])
export type PayloadFormat = z.infer<typeof payloadFormatSchema>
export const imageRegionSchema = known(z.union([regionSchema, z.literal('any')]))
export const imageRevisionsSchema = known(z.union([z.array(labelSchema).min(1).max(64), z.literal('any')]))

export const imageCardSchema = z.strictObject({
  /** Manifest structure version. */
  structureVersion: z.literal(1),
  /** Monotonic sequence number: of two images for one type, the higher one is newer. */
  sequenceNumber: known(u32Schema),
  vendorId: known(uuidSchema),
  classId: known(uuidSchema),
  /** The type in the catalogue that the class id stands for. */
  typeId: idSchema,
  version: known(versionSchema),
  payloadFormat: payloadFormatSchema,
  /** Octets from the lowest to the highest address, gaps included. */
  sizeBytes: z
    .number()
    .int()
    .min(1)
    .max(8 * 1024 * 1024),
  /** Payload digest: over the same octets, gaps filled with FF. */
  sha256: sha256Schema,
  crc32: u32Schema,
  /** Storage location: the address of the first octet. */
  programAddress: u32Schema,
  generation: known(generationSchema),
  /** Present where the image takes a receiver from this generation to `generation`. */
  convertsFrom: generationSchema.optional(),
  bands: known(z.array(bandSchema).min(1).max(3)),
  region: imageRegionSchema,
  hardwareRevisions: imageRevisionsSchema,
  wirelessCapable: known(z.boolean()),
  minBootVersion: versionSchema.optional(),
  /** Precursor image digest condition. */
  precursor: z.strictObject({ sha256: sha256Schema }).optional(),
  dependencies: z
    .strictObject({
      moduleFirmware: versionRangeSchema.optional(),
      radioSystem: versionRangeSchema.optional(),
      /** What the receiver must hold already: required image version list. */
      receiverFirmware: versionRangeSchema.optional(),
    })
    .default({}),
  notes: noteSchema,
  signature: z
    .strictObject({
      algorithm: z.literal('Ed25519'),
      keyId: z.string().min(1).max(120),
      /** 64 octets in hexadecimal. */
      value: z
        .string()
        .toLowerCase()
        .regex(/^[0-9a-f]{128}$/, 'an Ed25519 signature: 128 hexadecimal digits'),
    })
    .optional(),
})
export type ImageCard = z.infer<typeof imageCardSchema>

/**
 * Reads an image card.
 * @param text the whole file, UTF-8 already decoded
 * @returns the card, or problems `card.too-large`, `card.not-json`, `card.field` (each names the field)
 */
export function readImageCard(text: string, fileName: string): Result<ImageCard> {
  if (text.length > MAX_CARD_CHARACTERS)
    return failed({
      code: 'card.too-large',
      file: fileName,
      message: 'The file is too large to be an image card.',
      expected: `at most ${MAX_CARD_CHARACTERS} characters`,
      remedy: 'Choose the image card that came with the image.',
    })
  const json = text.replace(/^\uFEFF/, '')
  const parsedJson = parseJson(json)
  if (!parsedJson.ok)
    return failed({
      code: 'card.not-json',
      file: fileName,
      line: parsedJson.line,
      message: `This is not a readable image card: ${parsedJson.why}.`,
      expected: 'an image card saved by Preflash',
      remedy: 'Choose another file, or leave the image card out and say what the image is for.',
    })
  const raw = parsedJson.value
  const parsed = imageCardSchema.safeParse(raw)
  if (parsed.success) return succeeded(parsed.data)
  return failed(
    ...withLines(problemsOfZod(parsed.error, 'card.field', fileName, raw), json).map(problem => ({
      ...problem,
      remedy:
        'Correct this field in the image card, or leave the card out and say what the image is for yourself.',
    })),
  )
}

/** The card as a file: two-space JSON with a final line end. */
export const writeImageCard = (card: ImageCard): string => `${JSON.stringify(card, null, 2)}\n`

/** What a person has said about an image that came without a card, together with what the file itself shows. */
export interface Declared
  extends Pick<ImageCard, 'typeId' | 'payloadFormat' | 'sizeBytes' | 'sha256' | 'crc32' | 'programAddress'>,
    Partial<
      Pick<
        ImageCard,
        | 'version'
        | 'sequenceNumber'
        | 'vendorId'
        | 'classId'
        | 'generation'
        | 'convertsFrom'
        | 'bands'
        | 'region'
        | 'hardwareRevisions'
        | 'wirelessCapable'
        | 'dependencies'
        | 'notes'
      >
    > {}

/** A card for an image without one. Nothing is guessed: what was not said is `unknown`. */
export function cardForDeclared(declared: Declared): ImageCard {
  return {
    structureVersion: 1,
    sequenceNumber: UNKNOWN,
    vendorId: UNKNOWN,
    classId: UNKNOWN,
    version: UNKNOWN,
    generation: UNKNOWN,
    bands: UNKNOWN,
    region: UNKNOWN,
    hardwareRevisions: UNKNOWN,
    wirelessCapable: UNKNOWN,
    dependencies: {},
    ...withoutUndefined(declared),
  }
}

/** A field given as undefined would otherwise wipe out the `unknown` under it. */
function withoutUndefined(declared: Declared): Declared {
  return Object.fromEntries(Object.entries(declared).filter(([, value]) => value !== undefined)) as Declared &
    Record<string, unknown>
}
