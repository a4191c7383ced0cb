import { z } from 'zod'
import { problemSchema } from '../model/problem-schema.ts'

/** What the window and the machine say to each other about the folder whose new images are taken in by themselves. */

export const MOST_LISTED_FOLDERS = 500
const pathSchema = z.string().min(1).max(4096)
const failedSchema = z.object({ fileName: z.string(), problems: z.array(problemSchema).min(1) })

export const watchStateSchema = z.object({
  /** null where none is watched. */
  folder: z.string().nullable(),
  /** `missing` where it is not there now, such as on a stick that is not plugged in. */
  state: z.enum(['off', 'watching', 'missing']),
  /** Names of images taken in since somebody last looked, the latest ones. */
  taken: z.array(z.string()),
  /** Files that could not be taken in since somebody last looked. */
  failed: z.array(failedSchema),
  /** What is left out because there is too much of it, in a sentence. */
  bounds: z.string().optional(),
})
export type WatchState = z.infer<typeof watchStateSchema>

export const watchMethods = {
  'watch.get': { request: z.strictObject({}), reply: watchStateSchema },
  'watch.set': { request: z.strictObject({ folder: pathSchema.nullable() }), reply: watchStateSchema },
  /** Somebody has read what was taken and what failed. */
  'watch.seen': { request: z.strictObject({}), reply: watchStateSchema },
  /** The folders within a folder, to choose one; the home folder where none is named. */
  'watch.folders': {
    request: z.strictObject({ path: pathSchema.optional() }),
    reply: z.object({
      path: z.string(),
      parent: z.string().nullable(),
      folders: z.array(z.string()).max(MOST_LISTED_FOLDERS),
      /** Folders that are there besides. */
      more: z.number().int().min(0),
      /** Files in it that may be images. */
      files: z.number().int().min(0),
      /** Why it cannot be watched. */
      problem: problemSchema.optional(),
    }),
  },
} as const

export const watchEvents = {
  /** Ask watch.get again. */
  'watch.changed': z.strictObject({}),
} as const
