import { z } from 'zod'
import type { Problem } from './problem.ts'

/** Whole when it is short enough, else without its end and without half a character at the cut. */
const text = (most: number) =>
  z
    .string()
    .overwrite(said =>
      said.length <= most ? said : `${said.slice(0, most - 1).replace(/[\uD800-\uDBFF]$/, '')}…`,
    )

/**
 * Shape of a problem on the wire and in files. Words that quote a hostile file may be as long as the file: they are
 * cut, so that they do not fill the screen, but not refused, because then nobody would learn what was wrong.
 */
export const problemSchema = z.object({
  code: z.string().min(1).max(200),
  message: text(10_000),
  file: text(4_096).optional(),
  line: z.number().int().min(0).optional(),
  field: text(4_096).optional(),
  expected: text(10_000).optional(),
  remedy: text(10_000).optional(),
}) satisfies z.ZodType<Problem>
