import { z } from 'zod'
import { type ImageCard, imageRegionSchema, imageRevisionsSchema } from '../image/image-card.ts'
import { problemsOfZod } from '../model/bench.ts'
import { withLines } from '../model/field-line.ts'
import { parseJson } from '../model/parse-json.ts'
import { failed, type Result, succeeded } from '../model/problem.ts'
import { bandSchema, generationSchema, idSchema, known, labelSchema, versionSchema } from '../model/units.ts'
import { checkName, collisionsAmong, sameName } from './names.ts'

/**
 * The manifest lies beside the staged images and says what is there, for which type of receiver, and since when, so
 * that a card can be checked again on any computer. What an image's author did not know stays `unknown`.
 */

export const MANIFEST_NAME = 'preflash-manifest.json'
export const MAX_MANIFEST_CHARACTERS = 1_000_000
const MOST_IMAGES = 500

const nameSchema = z
  .string()
  .min(1)
  .max(255)
  .refine(name => checkName(name).length === 0, 'a plain file name that every card takes')
const sha256Schema = z.string().regex(/^[0-9a-f]{64}$/, 'a SHA-256 digest: 64 small hexadecimal digits')

export const stagedImageSchema = z.strictObject({
  /** In the manifest's own folder. */
  name: nameSchema,
  /** The image card beside it. */
  cardName: nameSchema,
  sizeBytes: z
    .number()
    .int()
    .min(1)
    .max(8 * 1024 * 1024),
  sha256: sha256Schema,
  cardSha256: sha256Schema,
  staged: z.iso.datetime(),
  typeId: idSchema,
  version: known(versionSchema),
  sequenceNumber: known(z.number().int().min(0).max(0xffff_ffff)),
  generation: known(generationSchema),
  convertsFrom: generationSchema.optional(),
  bands: known(z.array(bandSchema).min(1).max(3)),
  region: imageRegionSchema,
  hardwareRevisions: imageRevisionsSchema,
})
export type StagedImage = z.infer<typeof stagedImageSchema>

export const manifestSchema = z.strictObject({
  format: z.literal('preflash-card'),
  formatVersion: z.literal(1),
  /** What the person calls the card: the radio that it lives in, usually. */
  cardName: labelSchema.optional(),
  written: z.iso.datetime(),
  images: z.array(stagedImageSchema).max(MOST_IMAGES),
})
export type Manifest = z.infer<typeof manifestSchema>

export interface NewlyStaged {
  readonly name: string
  readonly cardName: string
  readonly card: ImageCard
  /** SHA-256 of the image card's own file. */
  readonly cardSha256: string
  /** ISO 8601 time in UTC, from outside. */
  readonly staged: string
}

/** One line of the manifest, from the image card. */
export function stagedImage({ name, cardName, card, cardSha256, staged }: NewlyStaged): StagedImage {
  const { sizeBytes, sha256, typeId, version, sequenceNumber, generation, convertsFrom } = card
  const { bands, region, hardwareRevisions } = card
  return {
    ...{ name, cardName, sizeBytes, sha256, cardSha256, staged, typeId, version, sequenceNumber, generation },
    ...(convertsFrom === undefined ? {} : { convertsFrom }),
    ...{ bands, region, hardwareRevisions },
  }
}

/**
 * The manifest after an image was staged: it takes the place of what had the same name.
 * @param before what was on the card, if anything
 */
export function withStaged(before: Manifest | undefined, image: StagedImage, cardName?: string): Manifest {
  const others = before?.images.filter(i => !sameName(i.name, image.name)) ?? []
  const images = [...others, image].slice(-MOST_IMAGES)
  const called = cardName ?? before?.cardName
  return {
    format: 'preflash-card',
    formatVersion: 1,
    ...(called === undefined ? {} : { cardName: called }),
    written: image.staged,
    images: images.sort((a, b) => (a.name < b.name ? -1 : 1)),
  }
}

export const writeManifest = (manifest: Manifest): string =>
  `${JSON.stringify(manifestSchema.parse(manifest), null, 2)}\n`

const remedy = 'Stage the images again; that writes a new one.'

/**
 * Reads a manifest back from a card.
 * @param text the whole file, UTF-8 already decoded
 * @returns the manifest, or problems `manifest.too-large`, `manifest.not-json` (with the line), `manifest.field`,
 * `name.collision`
 */
export function readManifest(text: string, file: string): Result<Manifest> {
  if (text.length > MAX_MANIFEST_CHARACTERS)
    return failed({
      code: 'manifest.too-large',
      file,
      message: 'The file is too large to be a list of staged images.',
      expected: `at most ${MAX_MANIFEST_CHARACTERS} characters`,
      remedy,
    })
  const parsedJson = parseJson(text)
  if (!parsedJson.ok)
    return failed({
      code: 'manifest.not-json',
      file,
      line: parsedJson.line,
      message: `The list of staged images is damaged: ${parsedJson.why}.`,
      remedy,
    })
  const raw = parsedJson.value
  const parsed = manifestSchema.safeParse(raw)
  if (!parsed.success)
    return failed(
      ...withLines(problemsOfZod(parsed.error, 'manifest.field', file, raw), text).map(p => ({
        ...p,
        remedy,
      })),
    )
  const twice = collisionsAmong(parsed.data.images.map(i => i.name)).map(p => ({ ...p, file, remedy }))
  return twice.length > 0 ? failed(...twice) : succeeded(parsed.data)
}
