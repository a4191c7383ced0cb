import { z } from 'zod'
import { rehearsalRequestSchema } from '../rehearse/report.ts'
import { RECEIVER_LEFT } from '../runbook/left.ts'
import { runbookSchema } from '../runbook/schema.ts'
import { MOST_ANSWERS, runAnswerSchema } from '../runbook/state.ts'

/** Guided runs: the radio does the update, and a person says what is seen. */

const idSchema = z.string().min(1).max(60)
const answersSchema = z.array(runAnswerSchema).max(MOST_ANSWERS)

/** A run as the logbook holds it. */
export const openRunSchema = z.object({
  id: idSchema,
  beganAtMs: z.number(),
  benchName: z.string().nullable(),
  runbook: runbookSchema,
  answers: answersSchema,
})
export type OpenRun = z.infer<typeof openRunSchema>

export const guideMethods = {
  /** Rehearses the plan once more, and how it would be recovered, and makes the runbook of it. */
  'guide.plan': {
    request: rehearsalRequestSchema,
    reply: z.object({ runbook: runbookSchema }),
  },
  /** From here on the run stands in the logbook. */
  'guide.begin': {
    request: z.strictObject({ runbook: runbookSchema, benchName: z.string().min(1).max(80) }),
    reply: z.object({ id: idSchema, beganAtMs: z.number() }),
  },
  /**
   * More answers, which are in the logbook when the reply comes. `from` is the place of the first of them in the run:
   * what is there already is left as it is, so that nothing is kept twice when somebody asks twice.
   */
  'guide.append': {
    request: z.strictObject({
      id: idSchema,
      from: z.number().int().min(0).max(MOST_ANSWERS),
      answers: answersSchema,
    }),
    reply: z.object({ count: z.number().int() }),
  },
  /** For a run that its answers have brought to an end. */
  'guide.end': {
    request: z.strictObject({ id: idSchema }),
    reply: z.object({ receiver: z.enum(RECEIVER_LEFT), isChecked: z.boolean() }),
  },
  /** The latest run that did not come to its end, of this program or of one that is gone. */
  'guide.open': { request: z.strictObject({}), reply: z.object({ run: openRunSchema.nullable() }) },
} as const
