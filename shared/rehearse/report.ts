import { z } from 'zod'
import { benchSchema } from '../model/bench.ts'
import { idSchema, octetsSchema, routeSchema, versionSchema } from '../model/units.ts'
import { OUTCOMES } from '../procedure/effects.ts'

/** What is asked of a rehearsal, and what comes back. These cross the contract, so they are schemas. */

export const imageChoiceSchema = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('bench'), imageId: idSchema }),
  /** One of the library; the machine's side puts its file in its place. */
  z.object({ kind: z.literal('library'), id: z.string().regex(/^[0-9a-f]{64}$/) }),
  z.object({
    kind: z.literal('file'),
    fileName: z.string().min(1).max(255),
    octets: octetsSchema,
    /** The text of its image card, where it came with one. */
    cardText: z.string().max(200_000).optional(),
    /** What an image without an image card is for; the type defaults to the chosen receiver's. */
    declared: z.object({ typeId: idSchema.optional(), version: versionSchema.optional() }).optional(),
  }),
])
export type ImageChoice = z.infer<typeof imageChoiceSchema>

export const faultChoiceSchema = z.object({
  name: z.string().min(1).max(40),
  value: z.string().max(80).optional(),
})
export type FaultChoice = z.infer<typeof faultChoiceSchema>

export const rehearsalRequestSchema = z.object({
  bench: benchSchema,
  receiverId: idSchema,
  image: imageChoiceSchema,
  route: routeSchema,
  seed: z.number().int().min(0).max(0xffff_ffff),
  faults: z.array(faultChoiceSchema).max(40),
  dropOutside: z.boolean(),
})
export type RehearsalRequest = z.infer<typeof rehearsalRequestSchema>

export const evidenceSchema = z.object({ label: z.string(), value: z.string(), known: z.boolean() })
export const findingReportSchema = z.object({
  rule: z.string(),
  claim: z.string(),
  holds: z.enum(['yes', 'no', 'unknown']),
  severity: z.enum(['block', 'warn']),
  enforcedBy: z.enum(['computer', 'card', 'radio', 'module', 'receiver', 'physics']),
  sentence: z.string(),
  evidence: z.array(evidenceSchema),
  remedies: z.array(
    z.object({ id: z.string(), label: z.string(), minutes: z.number(), reversible: z.boolean() }),
  ),
  source: z.string(),
})
export type FindingReport = z.infer<typeof findingReportSchema>

export const eventReportSchema = z.object({
  atMs: z.number(),
  kind: z.enum(['phase', 'note', 'retry', 'attempt-failed', 'fault', 'refused', 'outcome']),
  level: z.enum(['info', 'good', 'caution', 'danger']),
  phase: z.string().optional(),
  text: z.string(),
})
export type EventReport = z.infer<typeof eventReportSchema>

export const runbookStepSchema = z.object({
  text: z.string(),
  /** What should be seen when the step went well. */
  expect: z.string().optional(),
  caution: z.string().optional(),
  minutes: z.number(),
})
export type RunbookStep = z.infer<typeof runbookStepSchema>

export const recoverySchema = z.object({
  steps: z.array(runbookStepSchema),
  /** How the simulator fared when it carried the steps out on what the session left behind. */
  rehearsed: z.object({
    outcome: z.enum(OUTCOMES),
    simulatedMs: z.number(),
    /** The image was built here in place of one that the bench does not have. */
    standIn: z.boolean(),
    /** How the image got there; not told by those kept before it was. */
    route: routeSchema.optional(),
  }),
})
export type Recovery = z.infer<typeof recoverySchema>

export const rehearsalReportSchema = z.object({
  outcome: z.enum(OUTCOMES),
  route: routeSchema,
  seed: z.number(),
  simulatedMs: z.number(),
  wallMs: z.number(),
  /** Repeats of single requests plus second attempts at the whole. */
  retries: z.number().int(),
  attempts: z.number().int(),
  /** The outcome in one sentence, and why it came so. */
  sentence: z.string(),
  why: z.string(),
  receiver: z.object({
    id: z.string(),
    nickname: z.string(),
    typeId: z.string(),
    firmwareBefore: z.string(),
    firmwareAfter: z.string(),
    programAddress: z.number(),
    programBytes: z.number(),
    pageBytes: z.number(),
  }),
  image: z.object({
    name: z.string(),
    version: z.string(),
    bytes: z.number(),
    sha256: z.string(),
    /** What was left out because it lies outside program flash. */
    droppedOutsideBytes: z.number(),
  }),
  /** The simulated flash holds the image, octet for octet. */
  flashEqualsImage: z.boolean(),
  faults: z.array(faultChoiceSchema),
  findings: z.array(findingReportSchema),
  events: z.array(eventReportSchema),
  /** Null when the receiver runs the new image, or when nothing can bring it back. */
  recovery: recoverySchema.nullable(),
  /** The cautions that hold for carrying this out on real hardware, and what is to be done again afterwards. */
  cautions: z.array(z.string()),
  afterwards: z.array(z.string()),
})
export type RehearsalReport = z.infer<typeof rehearsalReportSchema>
