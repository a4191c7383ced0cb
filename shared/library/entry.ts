import { z } from 'zod'
import { type IdentityBlock, isIdentity } from '../image/identity-block.ts'
import { imageCardSchema, payloadFormatSchema, readImageCard } from '../image/image-card.ts'
import { type InspectedImage, inspectImage } from '../image/inspect.ts'
import { payloadKey } from '../image/same-payload.ts'
import type { Problem, Result } from '../model/problem.ts'
import { failed, succeeded } from '../model/problem.ts'
import { problemSchema } from '../model/problem-schema.ts'
import { bandSchema, generationSchema, known, regionSchema, versionSchema } from '../model/units.ts'

/** One image of the library: what its file says of itself, what its card says, and what nobody has said yet. */

const identitySchema = z.object({
  classId: z.string(),
  vendorId: z.string(),
  sequenceNumber: z.number(),
  version: versionSchema,
  generation: generationSchema,
  convertsFrom: generationSchema.optional(),
  bands: z.array(bandSchema),
  region: known(z.union([regionSchema, z.literal('any')])),
  hardwareRevisionBits: z.number(),
  wirelessCapable: known(z.boolean()),
  imageLength: z.number(),
  programAddress: z.number(),
}) satisfies z.ZodType<IdentityBlock>

const MOST_SEGMENTS_KEPT = 64
export const MOST_ALIKE_KEPT = 8
export const MOST_OTHER_FILES = 10

const digestSchema = z.string().regex(/^[0-9a-f]{64}$/)

export const alikeSchema = z.object({
  id: digestSchema,
  likeness: z.enum(['moved', 'padded', 'refilled']),
  /** Also, or only, at another address. */
  moved: z.boolean(),
  /** Octets in which the two differ. */
  differing: z.number().int().min(0),
})
export type Alike = z.infer<typeof alikeSchema>

const otherFileSchema = z.object({ fileName: z.string().min(1).max(255), format: payloadFormatSchema })

export const entrySignatureSchema = z.object({
  verdict: z.enum(['good', 'bad', 'missing', 'unknown-key']),
  /** The name of the key by which the card is signed. */
  keyId: z.string().max(120).optional(),
  /** The maker to whom the trusted key belongs. */
  maker: z.string().max(200).optional(),
  /** Why it is not good. */
  problem: problemSchema.optional(),
  /** Digest of the card and of the key that were judged, so that each pair is judged once. */
  of: digestSchema.optional(),
})
export type EntrySignature = z.infer<typeof entrySignatureSchema>

export const libraryEntrySchema = z.object({
  /** SHA-256 of the payload, gaps filled with FF: the same image in another container has the same one. */
  id: digestSchema,
  fileName: z.string().min(1).max(255),
  format: payloadFormatSchema,
  fileBytes: z.number().int().min(0),
  payloadBytes: z.number().int().min(0),
  lowestAddress: z.number().int().min(0),
  highestAddress: z.number().int().min(0),
  /** The first of them, where there are very many. */
  segments: z.array(z.object({ address: z.number(), length: z.number() })).max(MOST_SEGMENTS_KEPT),
  crc32: z.number().int().min(0),
  /** From a file beside the image, or filled in by hand; null where nobody has said what the image is for. */
  card: imageCardSchema.nullable(),
  cardFrom: z.enum(['beside', 'by-hand', 'nobody']),
  /** What the image says of itself inside, if it does. */
  embedded: identitySchema.optional(),
  problems: z.array(problemSchema).max(50),
  imported: z.iso.datetime(),
  /** See payloadKey. Entries of older versions lack it until they have been read anew. */
  payloadKey: digestSchema.optional(),
  /** Images that are the same program but for what does not matter. */
  alike: z.array(alikeSchema).max(MOST_ALIKE_KEPT).optional(),
  /** Other files in which the very same image came. */
  alsoAs: z.array(otherFileSchema).max(MOST_OTHER_FILES).optional(),
  /** When a person compared the digest that the maker publishes, of the file or of the payload, and it agreed. */
  digestCompared: z.iso.datetime().optional(),
  /** What the maker's signature proves by the keys that are trusted now. */
  signature: entrySignatureSchema.optional(),
  /** Name of the key whose signature the card had before somebody changed the card by hand. */
  signatureLost: z.string().max(120).optional(),
})
export type LibraryEntry = z.infer<typeof libraryEntrySchema>

export interface ImageFile {
  readonly fileName: string
  readonly octets: Uint8Array
  readonly cardText?: string
}

/**
 * Reads one file for the library. A damaged image card does not keep a sound image out: it is among the problems.
 * @param imported ISO time, from outside
 * @returns the entry, or the problems of inspectImage
 */
export function entryOf(file: ImageFile, imported: string): Result<LibraryEntry> {
  const inspected = inspectImage(file.octets, file.fileName, { rawAddress: 0 })
  if (!inspected.ok) return failed(...inspected.problems)
  const image = inspected.value
  const card =
    file.cardText === undefined ? undefined : readImageCard(file.cardText, `${file.fileName}.card.json`)
  const problems: Problem[] = [...image.problems, ...(card === undefined || card.ok ? [] : card.problems)]
  if (card?.ok && card.value.sha256 !== image.sha256) problems.push(notItsCard(file.fileName))
  return succeeded({
    ...facts(image),
    card: card?.ok ? card.value : null,
    cardFrom: card?.ok ? 'beside' : 'nobody',
    problems: problems.slice(0, 50),
    imported,
  })
}

const facts = (image: InspectedImage) => ({
  id: image.sha256,
  fileName: image.fileName,
  format: image.format,
  fileBytes: image.fileBytes,
  payloadBytes: image.payloadBytes,
  lowestAddress: image.lowestAddress,
  highestAddress: image.highestAddress,
  segments: image.segments
    .slice(0, MOST_SEGMENTS_KEPT)
    .map(s => ({ address: s.address, length: s.octets.length })),
  crc32: image.crc32,
  payloadKey: payloadKey(image.segments),
  ...(image.embedded && isIdentity(image.embedded)
    ? { embedded: { ...image.embedded, bands: [...image.embedded.bands] } }
    : {}),
})

const notItsCard = (file: string): Problem => ({
  code: 'library.other-digest',
  file,
  field: 'sha256',
  message: 'The image is not the one that its card describes: the digest differs.',
  expected: 'the digest that the card states',
  remedy: 'Fetch the image and its card again from where they came from.',
})
