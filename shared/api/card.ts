import { z } from 'zod'
import { manifestSchema, stagedImageSchema } from '../card/manifest.ts'
import { benchSchema } from '../model/bench.ts'
import { problemSchema } from '../model/problem-schema.ts'
import { idSchema, labelSchema } from '../model/units.ts'

/** What the window and the machine say to each other about cards and what is put on them. */

export const VOLUME_KINDS = [
  'card',
  'radio-internal',
  'external-disk',
  'image-file',
  'system',
  'network',
  'memory',
  'not-known',
] as const

/** A mounted volume as the system lists it. */
export const listedVolumeSchema = z.object({
  /** Where it is mounted, absolute. */
  path: z.string(),
  kind: z.enum(VOLUME_KINDS),
  /** What the kind was read from, in one sentence. */
  why: z.string(),
  /** False where the kind is a guess. */
  certain: z.boolean(),
  label: z.string().optional(),
  fileSystem: z.string(),
  readOnly: z.boolean(),
  totalBytes: z.number().min(0),
  freeBytes: z.number().min(0),
  clusterBytes: z.number().min(0),
  /** Why nothing may be put on it; not there where it may. */
  refusal: problemSchema.optional(),
})
export type ListedVolume = z.infer<typeof listedVolumeSchema>

/** Where to look or write: a listed volume by its path, or a plain folder that a person has named as such. */
export const placeSchema = z.strictObject({
  path: z.string().min(1).max(4096),
  /** The person says that it is only a folder, whatever it lies on. */
  folderOnly: z.boolean(),
})
export type Place = z.infer<typeof placeSchema>

/** Where it is on the card: from its top, parted by `/`; empty for the top. Names are checked by the machine too. */
const folderSchema = z.string().max(300)

export const foundPlaceSchema = z.object({
  root: z.string(),
  kind: z.enum([...VOLUME_KINDS, 'folder']),
})

const stageable = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('bench'), imageId: idSchema }),
  z.object({ kind: z.literal('library'), id: z.string().regex(/^[0-9a-f]{64}$/) }),
])

const wishes = {
  bench: benchSchema,
  receiverId: idSchema,
  image: stageable,
  place: placeSchema,
  folder: folderSchema,
  /** What the list on the card calls the card; what it is called already where this is left out. */
  cardName: labelSchema.optional(),
  /** Leave out what lies outside program flash instead of refusing. */
  dropOutside: z.boolean().default(false),
}

export const stagePlanSchema = z.object({
  place: foundPlaceSchema,
  /** With the capitals and small letters that it has on the card. */
  folder: z.string(),
  files: z.array(
    z.object({
      name: z.string(),
      bytes: z.number().int().min(0),
      /** A file of this name is there and gets replaced. */
      replaces: z.boolean(),
    }),
  ),
  sha256: z.string(),
  /** In whole clusters, with what new folders take. */
  needBytes: z.number().int().min(0),
  freeBytes: z.number().min(0),
  clusterBytes: z.number().min(0),
  /** What the card's list calls the card now. */
  cardName: z.string().optional(),
  /** Other images in the card's list. */
  others: z.array(z.string()),
  /** Octets outside program flash that would be left out. */
  droppedOutsideBytes: z.number().int().min(0),
  /** What a person has to take note of first, by rule. */
  cautions: z.array(z.object({ rule: z.string(), sentence: z.string() })),
  /** Why it would fail now; none where nothing speaks against it. */
  problems: z.array(problemSchema),
})
export type Caution = z.infer<typeof stagePlanSchema>['cautions'][number]
export type StagePlanned = z.infer<typeof stagePlanSchema>

/** What a running staging is doing. */
export const DOINGS = ['copying', 'flushing', 'reading-back', 'naming', 'proving'] as const
export const doingSchema = z.enum(DOINGS)
export type Doing = z.infer<typeof doingSchema>

const jobIdSchema = z.string().min(1).max(60)

export const readBackSchema = z.enum(['device', 'perhaps cache'])

export const stagedReplySchema = z.object({
  /** Absolute paths. */
  path: z.string(),
  cardPath: z.string(),
  manifestPath: z.string(),
  bytes: z.number().int().min(0),
  /** Of the image as it was read back under its own name. */
  sha256: z.string(),
  readBack: readBackSchema,
  place: foundPlaceSchema,
  manifest: manifestSchema,
  junk: z.array(z.string()),
  /** When it is safe to eject, in a sentence. */
  eject: z.string(),
  warnings: z.array(problemSchema),
})
export type StagedReply = z.infer<typeof stagedReplySchema>

export const cardCheckReplySchema = z.object({
  place: foundPlaceSchema,
  folder: z.string(),
  cardName: z.string().optional(),
  written: z.string(),
  images: z.array(
    z.object({
      image: stagedImageSchema,
      state: z.enum(['intact', 'changed', 'missing', 'unreadable']),
      text: z.string(),
      receivers: z.array(z.string()),
      stale: z
        .object({ kind: z.enum(['superseded', 'not-known', 'foreign', 'no-receiver']), text: z.string() })
        .optional(),
    }),
  ),
  unlisted: z.array(z.string()),
  leftOver: z.array(z.string()),
  junk: z.array(z.string()),
  readBack: readBackSchema,
})
export type CardCheckReply = z.infer<typeof cardCheckReplySchema>

export const cardMethods = {
  /** All that are mounted, those that are refused among them. */
  'card.volumes': {
    request: z.strictObject({}),
    reply: z.object({ volumes: z.array(listedVolumeSchema) }),
  },
  /** What staging would write, and whether it would fit. Changes nothing. */
  'card.plan': { request: z.strictObject(wishes), reply: stagePlanSchema },
  /** Answers when it is done; `card.progress` tells of it meanwhile. */
  'card.stage': {
    request: z.strictObject({
      ...wishes,
      jobId: jobIdSchema,
      /** Rules whose caution the person has taken note of by a deed. */
      acknowledged: z.array(z.string().max(60)).max(60),
    }),
    reply: stagedReplySchema,
  },
  'card.cancel': {
    request: z.strictObject({ jobId: jobIdSchema }),
    /** False where no such staging is running. It may still be too late: then `card.stage` answers as if nothing was. */
    reply: z.object({ asked: z.boolean() }),
  },
  'card.check': {
    request: z.strictObject({ bench: benchSchema, place: placeSchema, folder: folderSchema }),
    reply: cardCheckReplySchema,
  },
} as const

export const cardProgressSchema = z.object({
  jobId: jobIdSchema,
  doing: doingSchema,
  /** Octets, written and read back; `total` is twice what the files hold. */
  done: z.number().int().min(0),
  total: z.number().int().min(0),
})
export type CardProgress = z.infer<typeof cardProgressSchema>

export const cardEvents = {
  'card.progress': cardProgressSchema,
  /** Volumes that are being written now, by path; told whenever that changes. */
  'card.writing': z.object({ places: z.array(z.string()) }),
} as const
