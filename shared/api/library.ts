import { z } from 'zod'
import { imageCardSchema } from '../image/image-card.ts'
import { MOST_UF2_FAMILIES } from '../image/uf2-families.ts'
import { MAX_ZIP_FILE_BYTES } from '../image/zip-directory.ts'
import { libraryEntrySchema } from '../library/entry.ts'
import { problemSchema } from '../model/problem-schema.ts'
import { octetsSchema } from '../model/units.ts'

/** What the window and the machine say to each other about the library of images. */

const idSchema = z.string().regex(/^[0-9a-f]{64}$/, 'the id of a library image')
/** Names one import while it is under way, so that it can be followed and stopped. */
const importIdSchema = z.string().min(1).max(60)
/** With its folders, for a file out of a folder or an archive. */
const pathSchema = z.string().min(1).max(1000)
const familySchema = z.number().int().min(0).max(0xffff_ffff).nullable()

/** An image is no larger than 16 MiB; an archive of several may be. */
export const MAX_IMPORT_BYTES = MAX_ZIP_FILE_BYTES

const fileSchema = z.object({
  fileName: pathSchema,
  octets: octetsSchema.refine(o => o.length <= MAX_IMPORT_BYTES, 'at most 32 MiB'),
  /** The text of the image card beside it. */
  cardText: z.string().max(200_000).optional(),
  /** Of an archive, the one file to take. */
  only: pathSchema.optional(),
  /** It is one of many out of a folder, not chosen by itself. */
  among: z.boolean().optional(),
  /** Of a UF2 file for several families of controllers, those whose images are wanted; null for blocks that name none. */
  families: z.array(familySchema).min(1).max(MOST_UF2_FAMILIES).optional(),
})

const about = {
  fileName: z.string(),
  /** The archive it was in. */
  within: z.string().optional(),
}
export const importedSchema = z.discriminatedUnion('got', [
  z.object({ ...about, got: z.literal('entry'), entry: libraryEntrySchema }),
  /** It is there already; nothing but the names under which it came was changed. */
  z.object({ ...about, got: z.literal('duplicate'), entry: libraryEntrySchema }),
  /** It holds images for several families of controllers: say which, and import it again. */
  z.object({ ...about, got: z.literal('families'), families: z.array(familySchema).min(1) }),
  z.object({ ...about, got: z.literal('problems'), problems: z.array(problemSchema).min(1) }),
])
export type Imported = z.infer<typeof importedSchema>

export const libraryEvents = {
  /** Images, cards or verdicts are not what they were: list them anew. */
  'library.changed': z.strictObject({}),
  /** One more file of an import has been read. */
  'library.progress': z.strictObject({
    importId: importIdSchema,
    fileName: z.string(),
    /** Files read so far, those within archives counted one by one. */
    done: z.number().int().min(0),
  }),
} as const

export const libraryMethods = {
  'library.list': {
    request: z.strictObject({}),
    reply: z.object({ entries: z.array(libraryEntrySchema) }),
  },
  'library.import': {
    request: z.strictObject({
      files: z.array(fileSchema).min(1).max(500),
      importId: importIdSchema.optional(),
    }),
    reply: z.object({ imported: z.array(importedSchema) }),
  },
  /** What has been taken stays; what is not read yet is answered with `work.stopped`. */
  'library.stop': { request: z.strictObject({ importId: importIdSchema }), reply: z.object({}) },
  'library.remove': { request: z.strictObject({ id: idSchema }), reply: z.object({}) },
  'library.restore': {
    request: z.strictObject({ id: idSchema }),
    reply: z.object({ entry: libraryEntrySchema }),
  },
  'library.setCard': {
    request: z.strictObject({
      id: idSchema,
      card: imageCardSchema.nullable(),
      /** Given to bring back what was there before. */
      cardFrom: libraryEntrySchema.shape.cardFrom.optional(),
    }),
    reply: z.object({ entry: libraryEntrySchema }),
  },
  /** Compares what the maker publishes with what is there; where it agrees, the entry says so from then on. */
  'library.compareDigest': {
    request: z.strictObject({
      id: idSchema,
      /** SHA-256 of the file or of the payload, 64 hexadecimal digits; null takes the comparison back. */
      sha256: z
        .string()
        .transform(text => text.replaceAll(/[\s:]/g, '').toLowerCase())
        .pipe(z.string().regex(/^[0-9a-f]{64}$/, 'a SHA-256 digest: 64 hexadecimal digits'))
        .nullable(),
    }),
    reply: z.object({ entry: libraryEntrySchema }),
  },
  'library.read': {
    request: z.strictObject({ id: idSchema }),
    reply: z.object({ entry: libraryEntrySchema, octets: octetsSchema }),
  },
} as const
