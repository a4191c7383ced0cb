import { z } from 'zod'
import { FAILURES, type Level, OUTCOMES, type SessionEvent } from '../procedure/effects.ts'
import { PHASES } from '../sim/trace.ts'

/** What the logbook keeps of a session, one event after the other. */

const textSchema = z.string().max(10_000)
const nameSchema = z.string().min(1).max(200)
const countSchema = z.number().int().min(0).max(Number.MAX_SAFE_INTEGER)
const attemptSchema = z.number().int().min(0).max(1_000)
const LEVELS = ['info', 'good', 'caution', 'danger'] as const satisfies readonly Level[]

const told = [
  z.object({ kind: z.literal('phase'), phase: z.enum(PHASES), attempt: attemptSchema }),
  z.object({ kind: z.literal('progress'), done: countSchema, total: countSchema }),
  z.object({ kind: z.literal('note'), level: z.enum(LEVELS), text: textSchema }),
  z.object({ kind: z.literal('retry'), what: nameSchema, tries: countSchema, text: textSchema }),
  z.object({
    kind: z.literal('attempt-failed'),
    attempt: attemptSchema,
    code: z.enum(FAILURES),
    text: textSchema,
  }),
  z.object({ kind: z.literal('fault'), fault: nameSchema, text: textSchema }),
  z.object({
    kind: z.literal('refused'),
    by: z.enum(['radio', 'module', 'receiver', 'card']),
    rule: nameSchema,
    text: textSchema,
  }),
  z.object({ kind: z.literal('outcome'), outcome: z.enum(OUTCOMES), text: textSchema }),
] as const

/** What a procedure says of itself. */
export const sessionEventSchema = z.discriminatedUnion('kind', told) satisfies z.ZodType<SessionEvent>

/** What changes something outside, so that it has to be announced. */
export const EFFECTS = [
  'power',
  'line',
  'enter',
  'read',
  'erase',
  'write',
  'verify',
  'commit',
  'restart',
] as const
export type AnnouncedEffect = (typeof EFFECTS)[number]

/**
 * Announced before it is done. After a crash the last one may have been done, in part or not at all; every one before
 * it has been.
 */
const effectSchema = z.object({
  kind: z.literal('effect'),
  effect: z.enum(EFFECTS),
  /** Octets from the start of the image, and how many. */
  offset: countSchema.optional(),
  bytes: countSchema.optional(),
  /** Of a write: with this the image is whole. */
  last: z.boolean().optional(),
  text: textSchema,
})

/** What a person said: of a step of a guided run, or of a fact of a diagnosis. */
const saidSchema = z.object({
  kind: z.literal('answer'),
  /** Id of the step or fact. */
  to: nameSchema,
  said: nameSchema,
  /** The question, as it stood on the screen. */
  text: textSchema.optional(),
})

export const RECEIVER_STATES = ['runs', 'in-boot-loader', 'in-boot-rom', 'silent', 'not-known'] as const
export type ReceiverState = (typeof RECEIVER_STATES)[number]

/** What the receiver is known to be in from here on. */
const stateSchema = z.object({
  kind: z.literal('state'),
  state: z.enum(RECEIVER_STATES),
  /** The firmware that it says it runs. */
  version: z.string().max(64).optional(),
  text: textSchema,
})

/** What the line and the store answered, in order and as `bench-run/answers.ts` writes it, for a replay. */
const answersSchema = z.object({
  kind: z.literal('answers'),
  answers: z.array(z.string().max(400_000)).max(2_000),
})

export const logEventSchema = z.discriminatedUnion('kind', [
  ...told,
  effectSchema,
  saidSchema,
  stateSchema,
  answersSchema,
])
export type LogEvent = z.infer<typeof logEventSchema>

/** Milliseconds since 1970. */
export const timeSchema = z.number().int().min(0).max(8.64e15)

export const loggedEventSchema = z.object({
  /** From 1, in the order in which they were committed. */
  seq: z.number().int().min(1).max(Number.MAX_SAFE_INTEGER),
  atMs: timeSchema,
  event: logEventSchema,
})
export type LoggedEvent = z.infer<typeof loggedEventSchema>
