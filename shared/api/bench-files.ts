import { z } from 'zod'
import { benchSchema, MAX_BENCH_FILE_BYTES } from '../model/bench.ts'

/** What the window and the machine say to each other about bench files. */

/** Long enough for the absolute path of a file that was named on the command line. */
const benchFileNameSchema = z.string().min(1).max(4096)

/** SHA-256 of the file's octets, lower case hexadecimal. */
const revisionSchema = z.string().regex(/^[0-9a-f]{64}$/, 'a revision')

export const listedBenchSchema = z.object({
  /** What `bench.open` takes: a name in the benches folder, or the path from the command line. */
  fileName: benchFileNameSchema,
  /** The bench's own name; the file's where that cannot be read. */
  name: z.string().max(300),
  modified: z.iso.datetime(),
  bytes: z.number().int().min(0),
  fromCommandLine: z.boolean(),
})
export type ListedBench = z.infer<typeof listedBenchSchema>

/** A bench with changes that no file has yet. */
export const draftSchema = z.object({
  bench: benchSchema,
  /** The file it was opened from, as it was then; null where it has none. */
  file: z.object({ fileName: benchFileNameSchema, revision: revisionSchema }).nullable(),
})
export type BenchDraft = z.infer<typeof draftSchema>

export const benchFileMethods = {
  'bench.list': {
    request: z.strictObject({}),
    reply: z.object({
      /** The one from the command line first, then the latest first. */
      files: z.array(listedBenchSchema),
      /** Named on the command line, whether it can be opened or not. */
      commandLineFile: benchFileNameSchema.optional(),
    }),
  },
  'bench.open': {
    request: z.strictObject({ fileName: benchFileNameSchema }),
    reply: z.object({ bench: benchSchema, revision: revisionSchema, fileName: benchFileNameSchema }),
  },
  'bench.check': {
    request: z.strictObject({ fileName: benchFileNameSchema, text: z.string().max(MAX_BENCH_FILE_BYTES) }),
    reply: z.object({ bench: benchSchema }),
  },
  'bench.save': {
    request: z.strictObject({
      fileName: benchFileNameSchema,
      bench: benchSchema,
      /** Of the file as it was opened or last saved; null where there must not be one yet. */
      expectedRevision: revisionSchema.nullable(),
      /** Replace the file whatever it holds. */
      overwrite: z.boolean().optional(),
    }),
    reply: z.object({ revision: revisionSchema, fileName: benchFileNameSchema }),
  },
} as const
