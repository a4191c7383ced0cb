import { z } from 'zod'
import { benchSchema } from '../model/bench.ts'
import { idSchema, routeSchema } from '../model/units.ts'

/** What is asked of a diagnosis, and what comes back. These cross the contract, so they are schemas. */

/** In the order in which a session comes to them: with an earlier one in the way, a later one is never seen. */
export const SYMPTOMS = [
  'card-not-seen',
  'dead',
  'not-offered',
  'not-found',
  'no-answer',
  'write-refused',
  'stops',
  'verify-fails',
  'no-bind',
  'no-telemetry',
  'short-range',
] as const
export const symptomSchema = z.enum(SYMPTOMS)
export type SymptomId = z.infer<typeof symptomSchema>

export const answerSchema = z.enum(['yes', 'no', 'cannot-check'])
export type Answer = z.infer<typeof answerSchema>

const factIdSchema = z.string().min(1).max(60)
const causeIdSchema = z.string().min(1).max(60)

/** A first attempt that failed, and a second that worked with nothing put right in between; see `sharesOf`. */
export const secondTrySchema = z.object({
  /** How the first attempt failed. */
  symptom: symptomSchema,
  route: routeSchema,
  /** What was known of the bench then. */
  answers: z
    .record(factIdSchema, z.enum(['yes', 'no']))
    .refine(answers => Object.keys(answers).length <= 200, { error: 'at most 200 answers' }),
})
export type SecondTry = z.infer<typeof secondTrySchema>

export const MOST_SECOND_TRIES = 500

export const diagnosisRequestSchema = z.object({
  bench: benchSchema,
  receiverId: idSchema,
  symptom: symptomSchema,
  /** The way the update went; by air where the symptom is one of the air, else by cable. */
  route: routeSchema.optional(),
  /** The image that was to go in, one of the bench's; without it the image rules are asked for. */
  imageId: idSchema.optional(),
  /** By fact; what is missing was not asked yet. They go before what the bench says. */
  answers: z
    .record(factIdSchema, answerSchema)
    .refine(answers => Object.keys(answers).length <= 200, { error: 'at most 200 answers' })
    .default({}),
  /**
   * Facts that were looked at twice, both times with the same answer. Where the list is given, a second look may be
   * advised; see `answered`.
   */
  confirmed: z.array(factIdSchema).max(200).optional(),
  /** Causes that were put right, and the symptom is still there. */
  tried: z.array(causeIdSchema).max(100).default([]),
  /** Causes whose repair cannot be carried out now: no part at hand, no time. They stay suspected. */
  putOff: z.array(causeIdSchema).max(100).default([]),
  /** How often each cause was found before, from the logbook. */
  counts: z.record(causeIdSchema, z.number().int().min(0).max(1_000_000)).default({}),
  /** Second attempts that worked by themselves, from the logbook. */
  secondTries: z.array(secondTrySchema).max(MOST_SECOND_TRIES).default([]),
})
export type DiagnosisRequest = z.infer<typeof diagnosisRequestSchema>

export const factReportSchema = z.object({
  id: factIdSchema,
  /** A question that can be answered by yes or no. */
  question: z.string(),
  /** The answer where all is well. */
  sound: z.enum(['yes', 'no']),
  answer: answerSchema.nullable(),
  /** Where the answer comes from. */
  from: z.enum(['you', 'bench']).nullable(),
  /** What the bench says, whether it was overruled or not. */
  benchSays: z.enum(['yes', 'no']).nullable(),
  /** How it is observed. */
  look: z.string(),
  minutes: z.number(),
  tools: z.array(z.string()),
  /** What can happen while looking; null where nothing can. */
  risk: z.string().nullable(),
  /** How often people read the opposite, 0 up to below 0.5. */
  misread: z.number(),
  /** The fit rule behind it, if there is one. */
  rule: z.string().nullable(),
})
export type FactReport = z.infer<typeof factReportSchema>

export const memberReportSchema = z.object({
  id: causeIdSchema,
  label: z.string(),
  /** What happens physically, in a sentence. */
  mechanism: z.string(),
  /** The rule or the mechanism that makes it show. */
  rule: z.string().nullable(),
  /** Prior rate in words, with where it comes from. */
  rate: z.string(),
})

export const remedyReportSchema = z.object({
  cause: causeIdSchema,
  label: z.string(),
  minutes: z.number(),
  reversible: z.boolean(),
  /** What to mind while doing it. */
  caution: z.string().nullable(),
})

export const causeSetReportSchema = z.object({
  members: z.array(memberReportSchema).min(1),
  likelihood: z.number().min(0).max(1),
  /** Why it explains what was seen: rule, evidence, and what would have been seen otherwise. */
  explanation: z.array(z.string()).min(1),
  /** Facts that somebody must have misread if it is this. */
  doubts: z.array(factIdSchema),
  remedies: z.array(remedyReportSchema),
})
export type CauseSetReport = z.infer<typeof causeSetReportSchema>

export const nextSchema = z.discriminatedUnion('do', [
  z.object({
    do: z.literal('look'),
    fact: factIdSchema,
    /** It was answered before, and is worth a second look. */
    again: z.boolean(),
    minutes: z.number(),
    why: z.string(),
  }),
  z.object({
    do: z.literal('repair'),
    members: z.array(causeIdSchema).min(1),
    label: z.string(),
    minutes: z.number(),
    why: z.string(),
  }),
  z.object({ do: z.literal('ask'), why: z.string() }),
])
export type NextStep = z.infer<typeof nextSchema>

export const diagnosisSchema = z.object({
  symptom: symptomSchema,
  /** How many times the causes that are possible here were found before: they have changed the odds. */
  counted: z.number().int().min(0),
  /** How many second attempts that worked by themselves have, as they may have been of these causes. */
  secondTries: z.number().int().min(0),
  receiver: z.object({ id: idSchema, nickname: z.string() }),
  route: routeSchema,
  facts: z.array(factReportSchema),
  /** The likeliest first. */
  causes: z.array(causeSetReportSchema),
  /** Which cause shows in which fact: the lines of the drawing. */
  shows: z.array(z.object({ cause: causeIdSchema, fact: factIdSchema })),
  next: nextSchema,
})
export type Diagnosis = z.infer<typeof diagnosisSchema>
