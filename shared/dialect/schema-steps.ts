import { z } from 'zod'
import {
  type AnswerPart,
  answerPartSchema,
  nameSchema,
  type SendPart,
  sendPartSchema,
  sourceSchema,
} from './schema-parts.ts'

/** What is done, one thing after the other. Three levels of steps inside steps are enough, and bound a hostile file. */

export const MOST_MS = 120_000
export const MEANINGS = ['ok', 'again', 'refused', 'wait', 'stop'] as const
/**
 * ok: go on. again: it did not arrive well, say it again. refused: no, and asking again is no use. wait: not yet.
 * stop: the receiver breaks off the whole session.
 */
export type Meaning = (typeof MEANINGS)[number]

/** Milliseconds, or the name of one of the timings. */
const timeSchema = z.union([z.number().min(0).max(MOST_MS), nameSchema])
const wordsSchema = z.string().trim().min(1).max(300)

const lineStep = z.strictObject({
  do: z.literal('line'),
  dtr: z.boolean().optional(),
  rts: z.boolean().optional(),
  break: z.boolean().optional(),
  /** Another rate from here on. */
  baud: z.number().int().min(50).max(4_000_000).optional(),
})
const waitStep = z.strictObject({ do: z.literal('wait'), for: timeSchema })
/** Throws away what has arrived, until nothing has come for so long. */
const quietStep = z.strictObject({ do: z.literal('quiet'), for: timeSchema })
const sendStep = z.strictObject({
  do: z.literal('send'),
  parts: z.array(sendPartSchema).min(1).max(32),
  /** Without the frame that the dialect has. */
  bare: z.boolean().default(false),
})
const expectStep = z.strictObject({
  do: z.literal('expect'),
  /** Any one of these; looked for first. */
  replies: z.array(nameSchema).max(16).default([]),
  /** Or an answer of these parts. */
  parts: z.array(answerPartSchema).max(32).default([]),
  within: timeSchema,
  /** Replies that mean something else here than they usually do. */
  as: z.record(nameSchema, z.enum(MEANINGS)).default({}),
  /** Octets that are none of the replies are passed over; otherwise they are a wrong answer. */
  skipOthers: z.boolean().default(false),
  /** Keeps the first octet of the reply under this name. */
  capture: nameSchema.optional(),
  /** The receiver says its reply without being asked, this often, until it hears something. */
  unaskedEvery: timeSchema.optional(),
  /**
   * A reply that the receiver may have said before the request had reached it: it only counts when nothing else
   * follows within this time.
   */
  crossing: z.strictObject({ reply: nameSchema, within: timeSchema }).optional(),
  /** What it means when the receiver says no here, for the person. */
  refusal: wordsSchema.optional(),
  bare: z.boolean().default(false),
})
/** The receiver cannot do it. */
const failStep = z.strictObject({ do: z.literal('fail'), text: wordsSchema })
const leaves = [lineStep, waitStep, quietStep, sendStep, expectStep, failStep] as const
const leafStep = z.discriminatedUnion('do', [...leaves])
const repeatOf = <S extends z.ZodType>(step: S) =>
  z.strictObject({
    do: z.literal('repeat'),
    what: z.string().trim().min(1).max(60),
    times: z.number().int().min(1).max(1000),
    /** How often in a row it may stay unanswered; as often as it is done where left out. */
    silent: z.number().int().min(1).max(1000).optional(),
    steps: z.array(step).min(1).max(32),
  })

/** Without requests: a request that goes wrong is what it is there for. */
export const resynchroniseSchema = z
  .array(z.discriminatedUnion('do', [...leaves, repeatOf(leafStep)]))
  .max(16)

const containing = <S extends z.ZodType>(step: S) => {
  const steps = z.array(step).min(1).max(32)
  return [
    /** Must go through: said again, after resynchronisation where the answer was none or wrong. */
    z.strictObject({
      do: z.literal('request'),
      what: z.string().trim().min(1).max(60),
      tries: z.number().int().min(1).max(100).optional(),
      /** Instead of the dialect's own. */
      resynchronise: resynchroniseSchema.optional(),
      steps,
    }),
    /** Done until it goes through, without counting as a repeat: that the receiver is not there yet is ordinary. */
    repeatOf(step),
    /** One way or the other, by a number (`is`) or by an octet among those of a capture (`has`). */
    z.strictObject({
      do: z.literal('when'),
      of: sourceSchema,
      is: z.number().int().min(0).max(0xffff_ffff).optional(),
      has: z.number().int().min(0).max(255).optional(),
      steps: z.array(step).max(32),
      otherwise: z.array(step).max(32).default([]),
    }),
  ] as const
}
const level1 = z.discriminatedUnion('do', [...leaves, ...containing(leafStep)])
const level2 = z.discriminatedUnion('do', [...leaves, ...containing(level1)])
export const stepSchema = z.discriminatedUnion('do', [...leaves, ...containing(level2)])

/** What is sent when a session is broken off: nothing here may wait for an answer. */
export const leaveStepSchema = z.discriminatedUnion('do', [lineStep, waitStep, sendStep])

export type LeafStep = z.infer<typeof leafStep>
export type LineStep = z.infer<typeof lineStep>
export type SendStep = { readonly do: 'send'; readonly parts: readonly SendPart[]; readonly bare: boolean }
export type ExpectStep = Omit<z.infer<typeof expectStep>, 'parts'> & { readonly parts: readonly AnswerPart[] }
export interface RequestStep {
  readonly do: 'request'
  readonly what: string
  readonly tries?: number | undefined
  readonly resynchronise?: readonly Step[] | undefined
  readonly steps: readonly Step[]
}
export interface RepeatStep {
  readonly do: 'repeat'
  readonly what: string
  readonly times: number
  readonly silent?: number | undefined
  readonly steps: readonly Step[]
}
export interface WhenStep {
  readonly do: 'when'
  readonly of: string
  readonly is?: number | undefined
  readonly has?: number | undefined
  readonly steps: readonly Step[]
  readonly otherwise: readonly Step[]
}
export type Step = LeafStep | RequestStep | RepeatStep | WhenStep
export type LeaveStep = z.infer<typeof leaveStepSchema>
export type Time = number | string

/** Steps as they are written down, with what is left out. */
export type LeafInput = z.input<typeof leafStep>
export type ExpectInput = z.input<typeof expectStep>
export type InnerStepInput = z.input<typeof level1>
export type RepeatInput = z.input<ReturnType<typeof repeatOf<typeof leafStep>>>
