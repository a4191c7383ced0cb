import { z } from 'zod'
import { symptomSchema } from '../diagnose/report.ts'
import { generationSchema, idSchema, known, routeSchema, versionSchema } from '../model/units.ts'
import { recoverySchema } from '../rehearse/report.ts'
import { PHASES } from '../sim/trace.ts'

/**
 * The runbook of an update that the radio itself carries out, from its own card: what a rehearsal of this very plan
 * comes to for a person with both hands full. It crosses the contract and goes into the logbook, so it is a schema.
 */

/** The parts of a run, in order. The second attempt is gone through only where the first one has failed. */
export const PARTS = ['prepare', 'card', 'connect', 'power', 'update', 'second', 'after'] as const
export type Part = (typeof PARTS)[number]
export const partWords: Readonly<Record<Part, string>> = {
  prepare: 'Prepare',
  card: 'The card',
  connect: 'Connect',
  power: 'Switch on',
  update: 'The update',
  second: 'Second attempt',
  after: 'Before it flies',
}

const words = z.string().min(1).max(600)
const stepIdSchema = z.string().regex(/^[a-z][a-z0-9-]{0,39}$/)
const factsSchema = z.record(z.string().min(1).max(60), z.enum(['yes', 'no']))
const durationSchema = z.number().min(0).max(86_400_000)

/** Something else that can be seen at a step, and what comes of it. */
export const otherSchema = z.object({
  text: words,
  /** What the diagnosis is asked; without it there is nothing to diagnose, only something to do again. */
  symptom: symptomSchema.optional(),
  facts: factsSchema,
  leads: z.discriminatedUnion('to', [
    z.object({ to: z.literal('trouble') }),
    /** On to the step with this id: the second attempt, or past it. */
    z.object({ to: z.literal('step'), step: stepIdSchema }),
  ]),
})
export type Other = z.infer<typeof otherSchema>

export const stepSchema = z.object({
  id: stepIdSchema,
  part: z.enum(PARTS),
  text: words,
  /** What should be seen when it went well. */
  expect: words,
  caution: words.optional(),
  /** How to be sure, for somebody who is not. */
  sure: words,
  /** What the rehearsal took for this, in milliseconds; 0 where only hands are at work. */
  rehearsedMs: durationSchema,
  /** What hands take for it. Common practice, no source. */
  handsMs: durationSchema,
  /** The phases of the rehearsal that happen in this step, in order; their times are within `rehearsedMs`. */
  phases: z.array(z.object({ id: z.enum(PHASES), words, ms: durationSchema })).max(40),
  /** What having seen it answers for the diagnosis. */
  facts: factsSchema,
  /** What else can be seen, at least one thing. */
  others: z.array(otherSchema).min(1).max(8),
  /** The step from which to go on once the trouble is put right: an update is started again, not watched again. */
  again: stepIdSchema,
})
export type Step = z.infer<typeof stepSchema>

export const runbookSchema = z.object({
  format: z.literal('preflash-runbook'),
  formatVersion: z.literal(1),
  /** See `planKey`. */
  key: z.string().regex(/^[0-9a-f]{64}$/),
  route: routeSchema,
  receiver: z.object({
    id: idSchema,
    nickname: z.string().max(80),
    typeId: idSchema,
    /** Maker and name. */
    type: z.string().max(200),
    firmwareBefore: known(versionSchema),
    generationBefore: known(generationSchema),
  }),
  radio: z.string().max(80),
  image: z.object({
    name: z.string().max(255),
    version: known(versionSchema),
    generation: known(generationSchema),
    sha256: z.string().regex(/^[0-9a-f]{64}$/),
    sizeBytes: z.number().int().min(0),
    /** Of the bench, for the diagnosis; null for one of the library or a file. */
    benchId: idSchema.nullable(),
    /** Where its two files lie on the card. */
    files: z.array(z.string().max(300)).length(2),
  }),
  rehearsed: z.object({ simulatedMs: z.number(), attempts: z.number().int().min(1), seed: z.number() }),
  /** It speaks another generation afterwards, so it has to be bound again. */
  converts: z.boolean(),
  /** The module that it is bound to once bound again; null where the bench has none. */
  moduleId: idSchema.nullable(),
  steps: z.array(stepSchema).min(1).max(60),
  /**
   * How the receiver is brought back when the writing stopped half-way, rehearsed; null where nothing was simulated.
   * `bootLoader`: the same for a conversion that stopped while it replaced the boot loader.
   */
  recovery: z.object({ written: recoverySchema.nullable(), bootLoader: recoverySchema.nullable() }),
})
export type Runbook = z.infer<typeof runbookSchema>

/** What a step takes by rehearsal and by hand, in milliseconds. */
export const expectedMs = (step: Pick<Step, 'rehearsedMs' | 'handsMs'>): number =>
  step.rehearsedMs + step.handsMs
