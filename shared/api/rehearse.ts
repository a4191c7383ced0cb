import { z } from 'zod'
import { octetsSchema } from '../model/units.ts'
import { rehearsalReportSchema, rehearsalRequestSchema } from '../rehearse/report.ts'
import { packedTraceSchema } from '../sim/pack.ts'
import { PHASES } from '../sim/trace.ts'

/** A rehearsal comes back whole; the window plays it. */
export const rehearsalReplySchema = z.object({
  report: rehearsalReportSchema,
  trace: packedTraceSchema,
  /** All of the simulated receiver's program flash, as the session left it. */
  flash: octetsSchema,
})
export type RehearsalReply = z.infer<typeof rehearsalReplySchema>

/** By which the window that asked knows its rehearsal again; it makes it up. */
const runIdSchema = z.string().min(1).max(60)

/** How far a rehearsal is that is being worked out. */
export const rehearsalMomentSchema = z.object({
  /** The update itself, or how the receiver is brought back after it. */
  part: z.enum(['update', 'recovery']),
  /** In the session's own time, in milliseconds. */
  simulatedMs: z.number().min(0),
  /** The phase that is open; left out between phases. */
  standing: z
    .object({
      phase: z.enum(PHASES),
      attempt: z.number().int().min(1),
      /** In octets or pages; both 0 where the phase does not count. */
      done: z.number().min(0),
      total: z.number().min(0),
    })
    .optional(),
})
export type RehearsalMoment = z.infer<typeof rehearsalMomentSchema>

export const rehearseEvents = {
  /** About ten a second, for rehearsals that were given a `runId`. */
  'rehearse.progress': z.strictObject({ runId: runIdSchema, moment: rehearsalMomentSchema }),
} as const

export const rehearseMethods = {
  'rehearse.run': {
    request: rehearsalRequestSchema.extend({ runId: runIdSchema.optional() }),
    reply: rehearsalReplySchema,
  },
  /** The rehearsal is answered with `work.stopped`; one that is over or not known is no mistake. */
  'rehearse.cancel': { request: z.strictObject({ runId: runIdSchema }), reply: z.object({}) },
} as const
