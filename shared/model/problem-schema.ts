import { z } from 'zod'
import type { Problem } from './problem.ts'

/** Shape of a problem on the wire and in files. Length limits keep a hostile peer from filling the screen. */
export const problemSchema = z.object({
  code: z.string().min(1).max(200),
  message: z.string().max(10_000),
  file: z.string().max(4_096).optional(),
  line: z.number().int().min(0).optional(),
  field: z.string().max(4_096).optional(),
  expected: z.string().max(10_000).optional(),
  remedy: z.string().max(10_000).optional(),
}) satisfies z.ZodType<Problem>
