import { z } from 'zod'
import { RECEIVER_STATES } from '../dialect/plan.ts'
import { logIdSchema } from '../logbook/session-id.ts'
import { idSchema } from '../model/units.ts'
import { rehearsedSchema } from './check.ts'
import { WRITE_STEPS } from './steps.ts'

/** A write as it is shown: what goes over the contract while it runs, and when it has ended. */

/** What a lane is at: a phase of the procedure, or what surrounds it. */
export const writeStepSchema = z.enum(WRITE_STEPS)
export type WriteStep = z.infer<typeof writeStepSchema>

export const writeEndingSchema = z.object({
  /** `unproven`: sent and accepted, but this dialect cannot show that the receiver runs it. */
  outcome: z.enum(['updated', 'unproven', 'failed', 'cancelled', 'port-lost']),
  code: z.string().max(60).nullable(),
  text: z.string(),
  state: z.enum(RECEIVER_STATES),
  /** The state, and what to do next, in words. */
  stateWords: z.string(),
  nextWords: z.string(),
  proof: z.object({
    verified: z.enum(['read-back', 'digest', 'none']),
    started: z.boolean(),
    identified: z.boolean(),
  }),
  identity: z.array(z.object({ label: z.string(), value: z.string() })),
  /** Where what was read before is kept. */
  backupFile: z.string().nullable(),
  attempts: z.number().int(),
  retries: z.number().int(),
  seconds: z.number(),
  /** For the Diagnose view: what is seen, and the facts that are known from the session. */
  diagnosis: z
    .object({ symptom: z.string(), answers: z.record(z.string(), z.enum(['yes', 'no'])) })
    .nullable(),
  /** What is to be done again before it flies. */
  afterwards: z.array(z.string()),
})
export type WriteEnding = z.infer<typeof writeEndingSchema>

/** Where reality differs from the rehearsal of the plan. */
export const differenceSchema = z.object({
  atMs: z.number(),
  step: writeStepSchema,
  kind: z.enum([
    'slower',
    'faster',
    'other-rate',
    'later-answers',
    'other-amount',
    'other-blocks',
    'said-otherwise',
    'more-retries',
    'asked-to-wait',
    'failed-attempt',
    'another-order',
    'other-end',
  ]),
  /** `expected`: nothing to do; `note`: worth knowing; `look`: find out before the receiver is used. */
  severity: z.enum(['expected', 'note', 'look']),
  expected: z.string(),
  seen: z.string(),
})
export type Difference = z.infer<typeof differenceSchema>

/** Messages that a lane tells at most, the newest. */
export const MOST_NOTES = 50

export const laneSchema = z.object({
  lane: z.string().min(1).max(60),
  sessionId: logIdSchema.nullable(),
  port: z.object({ key: z.string(), label: z.string() }),
  receiver: z.object({ id: idSchema, nickname: z.string() }).nullable(),
  image: z.object({ name: z.string(), version: z.string().nullable(), bytes: z.number().int() }),
  dialect: z.string(),
  step: writeStepSchema,
  done: z.number(),
  total: z.number(),
  /** Over the last seconds; null while there is nothing to measure. */
  octetsPerSecond: z.number().nullable(),
  secondsLeft: z.number().nullable(),
  attempt: z.number().int(),
  retries: z.number().int(),
  /** Milliseconds since the session began. */
  elapsedMs: z.number(),
  /** The newest last; at most the last `MOST_NOTES`. */
  notes: z.array(
    z.object({
      atMs: z.number(),
      level: z.enum(['info', 'good', 'caution', 'danger']),
      text: z.string(),
      /** It tells of a wait that lasts no longer than this. */
      mostMs: z.number().optional(),
    }),
  ),
  /** Steps behind it, for the time line beside the rehearsal's. */
  steps: z.array(
    z.object({
      step: writeStepSchema,
      attempt: z.number().int(),
      startMs: z.number(),
      endMs: z.number().nullable(),
    }),
  ),
  /** The rehearsal of this plan that it is held against; null where there was none (`--direct`). */
  rehearsed: rehearsedSchema.nullable(),
  differs: z.array(differenceSchema),
  /** Set once it has ended; until then the lane is live. */
  end: writeEndingSchema.nullable(),
})
export type LaneReport = z.infer<typeof laneSchema>
