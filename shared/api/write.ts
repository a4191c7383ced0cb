import { z } from 'zod'
import {
  cautionAnswersSchema,
  cautionQuestionSchema,
  preconditionSchema,
  rehearsedSchema,
} from '../bench-run/check.ts'
import { laneSchema } from '../bench-run/lane.ts'
import { writePlanSchema } from '../bench-run/plan.ts'
import { logIdSchema } from '../logbook/session-id.ts'
import { recoverySchema } from '../rehearse/report.ts'
import { packedTraceSchema } from '../sim/pack.ts'
import { traceCursorSchema, tracePieceSchema } from '../sim/trace-piece.ts'

/** Writing through a serial programmer. */
const laneIdSchema = laneSchema.shape.lane

export const interruptedSchema = z.object({
  sessionId: logIdSchema,
  startedAtMs: z.number(),
  receiver: z.object({ id: z.string(), nickname: z.string() }).nullable(),
  port: z.string().nullable(),
  dialect: z.string().nullable(),
  image: z.string().nullable(),
  /** What the receiver holds now, by what was committed before the session broke off. */
  state: z.string(),
  stateWords: z.string(),
  nextWords: z.string(),
})

export const batchReportSchema = z.object({
  running: z.boolean(),
  ports: z.array(
    z.object({ key: z.string(), label: z.string(), waiting: z.string(), lane: laneIdSchema.nullable() }),
  ),
  done: z.number().int(),
  failed: z.number().int(),
  tally: z.array(
    z.object({
      atMs: z.number(),
      port: z.string(),
      identity: z.string(),
      outcome: z.string(),
      text: z.string(),
    }),
  ),
})

export const writeMethods = {
  /** What holds and what does not, for this plan with these answers. */
  'write.check': {
    request: z.strictObject({ plan: writePlanSchema, cautions: cautionAnswersSchema.default({}) }),
    reply: z.object({
      key: z.string(),
      ready: z.boolean(),
      preconditions: z.array(preconditionSchema),
      questions: z.array(cautionQuestionSchema),
      rehearsed: rehearsedSchema.nullable(),
    }),
  },
  /** Rehearses this very plan in the simulator, with the same procedure. */
  'write.rehearse': {
    request: z.strictObject({
      plan: writePlanSchema,
      seed: z.number().int().min(0).max(0xffff_ffff).default(1),
    }),
    reply: z.object({ rehearsed: rehearsedSchema, trace: packedTraceSchema }),
  },
  /** Refused, with problems that name the precondition, unless all of them hold. */
  'write.start': {
    request: z.strictObject({
      plan: writePlanSchema,
      cautions: cautionAnswersSchema,
      /** The interrupted session that this one puts right. */
      recovers: logIdSchema.optional(),
    }),
    reply: z.object({ lane: laneIdSchema }),
  },
  'write.cancel': { request: z.strictObject({ lane: laneIdSchema }), reply: z.object({ was: z.boolean() }) },
  /** All that run, and those that have ended since the window opened. */
  'write.lanes': {
    request: z.strictObject({}),
    reply: z.object({
      lanes: z.array(laneSchema),
      /** The batch that runs or ran last; null where there was none. */
      batch: batchReportSchema.nullable(),
    }),
  },
  /** Takes one that has ended off the screen. */
  'write.dismiss': { request: z.strictObject({ lane: laneIdSchema }), reply: z.object({}) },
  /** What went over the line since, piece by piece; whoever asks puts them together (`TraceSoFar`). */
  'write.trace': {
    request: z.strictObject({
      lane: laneIdSchema,
      /** Where the piece before has ended; null for the first. */
      after: traceCursorSchema.nullable().default(null),
    }),
    /** Null before the port is open. */
    reply: z.object({ piece: tracePieceSchema.nullable() }),
  },
  /** Sessions that broke off with their program or the power, and were not seen to since. */
  'write.interrupted': {
    request: z.strictObject({}),
    reply: z.object({ sessions: z.array(interruptedSchema) }),
  },
  /** How an interrupted or failed session is put right, and the plan to do it with. */
  'write.recover': {
    request: z.strictObject({ sessionId: logIdSchema }),
    reply: z.object({
      recovery: recoverySchema.nullable(),
      /** How the write of the recovery fared in the simulator, on a receiver in that very state. */
      rehearsed: rehearsedSchema.nullable(),
      plan: writePlanSchema.nullable(),
      words: z.string(),
    }),
  },
  /** Says that somebody has seen to it without another write. */
  'write.settle': { request: z.strictObject({ sessionId: logIdSchema }), reply: z.object({}) },
  'write.batchStart': {
    request: z.strictObject({
      plan: writePlanSchema,
      ports: z.array(z.string().min(1).max(400)).min(1).max(8),
      cautions: cautionAnswersSchema,
    }),
    reply: z.object({ batch: batchReportSchema }),
  },
  'write.batchStop': { request: z.strictObject({}), reply: z.object({ batch: batchReportSchema }) },
} as const

export const writeEvents = {
  /** A lane has gone on; told at most some times a second, and at once when it has ended. */
  'write.lane': laneSchema,
  'write.batch': batchReportSchema,
} as const
