import { z } from 'zod'
import { imageCardSchema } from '../image/image-card.ts'
import { libraryEntrySchema } from '../library/entry.ts'
import { problemSchema } from '../model/problem-schema.ts'
import { octetsSchema } from '../model/units.ts'

/** What the window and the machine say to each other about the library of images. */

const idSchema = z.string().regex(/^[0-9a-f]{64}$/, 'the id of a library image')
const fileSchema = z.object({
  fileName: z.string().min(1).max(255),
  octets: octetsSchema.refine(o => o.length <= 16 * 1024 * 1024, 'at most 16 MiB'),
  /** The text of the image card beside it. */
  cardText: z.string().max(200_000).optional(),
})

export const importedSchema = z.discriminatedUnion('got', [
  z.object({ fileName: z.string(), got: z.literal('entry'), entry: libraryEntrySchema }),
  /** It is there already; nothing was changed. */
  z.object({ fileName: z.string(), got: z.literal('duplicate'), entry: libraryEntrySchema }),
  z.object({ fileName: z.string(), got: z.literal('problems'), problems: z.array(problemSchema).min(1) }),
])

export const libraryMethods = {
  'library.list': {
    request: z.strictObject({}),
    reply: z.object({ entries: z.array(libraryEntrySchema) }),
  },
  'library.import': {
    request: z.strictObject({ files: z.array(fileSchema).min(1).max(500) }),
    reply: z.object({ imported: z.array(importedSchema) }),
  },
  'library.remove': { request: z.strictObject({ id: idSchema }), reply: z.object({}) },
  'library.restore': {
    request: z.strictObject({ id: idSchema }),
    reply: z.object({ entry: libraryEntrySchema }),
  },
  'library.setCard': {
    request: z.strictObject({ id: idSchema, card: imageCardSchema.nullable() }),
    reply: z.object({ entry: libraryEntrySchema }),
  },
  'library.read': {
    request: z.strictObject({ id: idSchema }),
    reply: z.object({ entry: libraryEntrySchema, octets: octetsSchema }),
  },
} as const
