import { z } from 'zod'
import { answerSchema, symptomSchema } from '../diagnose/report.ts'
import { idSchema, routeSchema } from '../model/units.ts'
import { OUTCOMES } from '../procedure/effects.ts'
import { boundedJsonSchema } from './bounded-json.ts'
import { timeSchema } from './event.ts'
import { logIdSchema } from './session-id.ts'

/** `write`: by a serial programmer. `guided`: the radio does it, and a person says what is seen. */
export const SESSION_KINDS = ['write', 'guided', 'diagnosis'] as const
export const sessionKindSchema = z.enum(SESSION_KINDS)
export type SessionKind = z.infer<typeof sessionKindSchema>

/** How a session came to its end. `interrupted`: its program went away; somebody has seen to it since. */
export const ENDINGS = ['done', 'failed', 'cancelled', 'interrupted'] as const
export const endingSchema = z.enum(ENDINGS)
export type SessionEnding = z.infer<typeof endingSchema>

export const outcomeSchema = z.enum(OUTCOMES)

const nameSchema = z.string().min(1).max(200)

export const loggedImageSchema = z.object({
  name: nameSchema,
  version: z.string().max(64).nullable(),
  sha256: z.string().regex(/^[0-9a-f]{64}$/, 'a SHA-256 digest: 64 hexadecimal digits'),
  sizeBytes: z.number().int().min(0).max(0xffff_ffff),
})
export type LoggedImage = z.infer<typeof loggedImageSchema>

/** A plan that holds an image of 16 MiB as text still goes in. */
export const MAX_PLAN_CHARACTERS = 24 * 1024 * 1024

/** What is known as a session begins. */
export const newSessionSchema = z.object({
  kind: sessionKindSchema,
  receiverId: idSchema.nullable(),
  nickname: nameSchema.nullable(),
  typeId: idSchema.nullable(),
  benchName: nameSchema.nullable(),
  /** How the port is called on the screen. */
  port: nameSchema.nullable(),
  dialect: nameSchema.nullable(),
  image: loggedImageSchema.nullable(),
  /** The session that was interrupted, and that this one puts right. */
  recovers: logIdSchema.nullable(),
  /** All that is needed to rehearse it again. */
  plan: boundedJsonSchema(MAX_PLAN_CHARACTERS).nullable(),
})
/** What is left out is not known. */
export type NewSession = Partial<z.infer<typeof newSessionSchema>> & { readonly kind: SessionKind }

const factIdSchema = z.string().min(1).max(60)
const causeIdSchema = z.string().min(1).max(60)

/** What a diagnosis ended with: these causes were it. */
export const newFindingSchema = z.object({
  /** Chosen by whoever records it, so that recording it twice counts once. */
  id: logIdSchema,
  symptom: symptomSchema,
  route: routeSchema,
  causes: z.array(causeIdSchema).min(1).max(20),
  /** They were put right at once, and one of them was it, nobody knows which: such a find does not count. */
  isOneOf: z.boolean(),
  answers: z
    .record(factIdSchema, answerSchema)
    .refine(answers => Object.keys(answers).length <= 200, { error: 'at most 200 answers' }),
  /** What was put right before, in vain. */
  tried: z.array(causeIdSchema).max(100),
})
export type NewFinding = z.infer<typeof newFindingSchema>

export const findingSchema = newFindingSchema.extend({
  atMs: timeSchema,
  /** When the trouble came back after all; such a find does not count. */
  withdrawnAtMs: timeSchema.nullable(),
})
export type Finding = z.infer<typeof findingSchema>

/** A session in a list. */
export const sessionHeadSchema = newSessionSchema.omit({ plan: true }).extend({
  id: logIdSchema,
  startedAtMs: timeSchema,
  endedAtMs: timeSchema.nullable(),
  ending: endingSchema.nullable(),
  /** What became of the receiver; null where nothing was written, or where it is not known. */
  outcome: outcomeSchema.nullable(),
  /** When it was taken over from another logbook. */
  importedAtMs: timeSchema.nullable(),
  eventCount: z.number().int().min(0),
})
export type SessionHead = z.infer<typeof sessionHeadSchema>
