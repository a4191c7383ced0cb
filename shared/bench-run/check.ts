import { z } from 'zod'
import { WRITE_STEPS } from './steps.ts'

/** What has to hold before the first octet is sent, as it crosses the contract. */

export const PRECONDITIONS = [
  'port',
  'dialect',
  'wiring',
  'supply',
  'image',
  'rehearsed',
  'cautions',
] as const
export type PreconditionId = (typeof PRECONDITIONS)[number]

export const preconditionSchema = z.object({
  id: z.enum(PRECONDITIONS),
  /** What must hold, in words. */
  claim: z.string(),
  /** What is not known never counts as holding. */
  holds: z.enum(['yes', 'no', 'unknown']),
  why: z.array(z.string()),
  /** What would make it hold. */
  cure: z.string().nullable(),
})
export type Precondition = z.infer<typeof preconditionSchema>

/** A question about what one sees; nothing is chosen beforehand, and which choices are right is not told. */
export const cautionQuestionSchema = z.object({
  id: z.string().min(1).max(60),
  question: z.string(),
  look: z.string(),
  choices: z.array(z.object({ id: z.string(), label: z.string() })).min(2),
})
export type CautionQuestion = z.infer<typeof cautionQuestionSchema>

export const cautionAnswersSchema = z
  .record(z.string().min(1).max(60), z.string().min(1).max(60))
  .refine(answers => Object.keys(answers).length <= 30, { error: 'at most 30 answers' })
export type CautionAnswers = z.infer<typeof cautionAnswersSchema>

/** What a step did, as its progress and its answers show. */
export const stepSeenSchema = z.object({
  /** As the progress counts: octets, or pages. */
  done: z.number(),
  /** How many steps the progress took: blocks, where it counts octets. */
  pieces: z.number().int(),
  /** From what was said to its answer, the middle of all, in milliseconds; null with too few of them. */
  answerMs: z.number().nullable(),
})
export type StepSeen = z.infer<typeof stepSeenSchema>

/** One thing that a receiver says of itself. */
export const saidSchema = z.object({
  when: z.enum(['before', 'after']),
  name: z.string(),
  label: z.string(),
  value: z.string(),
  role: z.enum(['type', 'version', 'mode', 'other']),
  /** False of what a simulated receiver says only because the dialect has it as an example. */
  isSure: z.boolean(),
})
export type Said = z.infer<typeof saidSchema>

/** How often one thing was said again. */
export const repeatsSchema = z.object({
  step: z.enum(WRITE_STEPS),
  attempt: z.number().int(),
  what: z.string(),
  times: z.number().int(),
})
export type Repeats = z.infer<typeof repeatsSchema>

export const rehearsedSchema = z.object({
  key: z.string(),
  /** Does it end with the new image running, as far as this dialect can show that? */
  ok: z.boolean(),
  sentence: z.string(),
  simulatedMs: z.number(),
  attempts: z.number().int(),
  retries: z.number().int(),
  steps: z.array(
    z.object({
      step: z.enum(WRITE_STEPS),
      attempt: z.number().int(),
      startMs: z.number(),
      endMs: z.number(),
      seen: stepSeenSchema.optional(),
    }),
  ),
  said: z.array(saidSchema).optional(),
  repeats: z.array(repeatsSchema).optional(),
  /** How often the receiver asked to wait. */
  waits: z.number().int().optional(),
})
export type Rehearsed = z.infer<typeof rehearsedSchema>
