import { z } from 'zod'

/** What the program remembers between two starts. Every field has a default, so an older file stays readable. */
export const settingsSchema = z.object({
  theme: z.enum(['system', 'light', 'dark', 'contrast']).default('system'),
  /** The bench that was open last, by the name under which `bench.open` knows it. */
  lastBench: z.string().min(1).max(4096).optional(),
  /** The set-up of the last rehearsal, field by field. */
  rehearse: z
    .record(z.string().min(1).max(60), z.string().max(2000))
    .refine(fields => Object.keys(fields).length <= 100, { error: 'at most 100 fields' })
    .default({}),
  /** Folder whose new images are taken in by themselves; kept by `watch.set` alone. */
  watchedFolder: z.string().min(1).max(4096).optional(),
  /** How the Fleet view was left: its part, its filters. */
  fleet: z
    .record(z.string().min(1).max(60), z.string().max(2000))
    .refine(fields => Object.keys(fields).length <= 100, { error: 'at most 100 fields' })
    .optional(),
})
export type StoredSettings = z.infer<typeof settingsSchema>
