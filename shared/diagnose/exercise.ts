import { z } from 'zod'
import { routeSchema } from '../model/units.ts'
import { PARTS } from './causes.ts'
import { nextSchema, symptomSchema } from './report.ts'

/** What is asked of a practice, and what comes back. These cross the contract, so they are schemas. */

const factIdSchema = z.string().min(1).max(60)
const causeIdSchema = z.string().min(1).max(60)

export const MOST_SEED = 999_999
/** Nobody who learns anything takes more steps than this. */
export const MOST_PRACTICE_STEPS = 300

export const practiceStepSchema = z.discriminatedUnion('do', [
  z.strictObject({ do: z.literal('look'), fact: factIdSchema }),
  /** Several at once share the try that comes after them. */
  z.strictObject({ do: z.literal('repair'), causes: z.array(causeIdSchema).min(1).max(3) }),
  z.strictObject({ do: z.literal('hint') }),
  z.strictObject({ do: z.literal('give-up') }),
])
export type PracticeStep = z.infer<typeof practiceStepSchema>

export const practiceSetupSchema = z.strictObject({
  /** The number of the exercise: the same one, with the same choices, hides the same. */
  seed: z.number().int().min(0).max(MOST_SEED),
  /** How many things are wrong; for `either`, one or two, and nobody is told. */
  faults: z.enum(['one', 'two', 'either']),
  /** Whether a look in twenty shows the opposite of what is there. */
  lies: z.boolean(),
})
export type PracticeSetup = z.infer<typeof practiceSetupSchema>

/** The exercise is played again up to where it stands: nothing has to be kept on the other side. */
export const practiceRequestSchema = practiceSetupSchema.extend({
  steps: z.array(practiceStepSchema).max(MOST_PRACTICE_STEPS),
})
export type PracticeRequest = z.infer<typeof practiceRequestSchema>

const afterSchema = z.union([symptomSchema, z.literal('none')])
export type AfterRepair = z.infer<typeof afterSchema>

const doneLookSchema = z.object({
  do: z.literal('look'),
  fact: factIdSchema,
  question: z.string(),
  answer: z.enum(['yes', 'no']),
  /** True where that is the answer of a table on which all is well. */
  isSound: z.boolean(),
  minutes: z.number(),
})
const doneRepairSchema = z.object({
  do: z.literal('repair'),
  causes: z.array(z.object({ id: causeIdSchema, label: z.string() })),
  label: z.string(),
  /** With the try after it. */
  minutes: z.number(),
  after: afterSchema,
  change: z.enum(['same', 'other', 'works']),
})
const doneHintSchema = z.object({ do: z.literal('hint'), next: nextSchema, label: z.string() })
export const practiceDoneSchema = z.discriminatedUnion('do', [
  doneLookSchema,
  doneRepairSchema,
  doneHintSchema,
])
export type PracticeDone = z.infer<typeof practiceDoneSchema>
export type PracticeHint = z.infer<typeof doneHintSchema>

export const factToLookSchema = z.object({
  id: factIdSchema,
  question: z.string(),
  sound: z.enum(['yes', 'no']),
  look: z.string(),
  minutes: z.number(),
  tools: z.array(z.string()),
  risk: z.string().nullable(),
  /** What was seen, the first look first; `isOld` where something was repaired since. */
  seen: z.array(z.object({ answer: z.enum(['yes', 'no']), isOld: z.boolean() })),
})
export type FactToLook = z.infer<typeof factToLookSchema>

export const repairToDoSchema = z.object({
  cause: causeIdSchema,
  /** What it is against. */
  label: z.string(),
  part: z.enum(PARTS),
  repair: z.string(),
  /** Without the try after it. */
  minutes: z.number(),
  reversible: z.boolean(),
  caution: z.string().nullable(),
  isDone: z.boolean(),
})
export type RepairToDo = z.infer<typeof repairToDoSchema>

export const practiceSpentSchema = z.object({
  minutes: z.number(),
  looks: z.number(),
  repairs: z.number(),
  hints: z.number(),
})
export type PracticeSpent = z.infer<typeof practiceSpentSchema>

export const practiceEndSchema = z.object({
  works: z.boolean(),
  truth: z.array(
    z.object({
      id: causeIdSchema,
      label: z.string(),
      mechanism: z.string(),
      repair: z.string(),
      wasRepaired: z.boolean(),
    }),
  ),
  /** The engine's own way through the same table. */
  engine: practiceSpentSchema.extend({ works: z.boolean(), path: z.array(practiceDoneSchema) }),
  /** Looks that could not save the time that they took, by what was known then. */
  needlessLooks: z.array(z.object({ question: z.string(), minutes: z.number() })),
  /** Repairs of what was in order. */
  needlessRepairs: z.array(z.object({ label: z.string(), minutes: z.number() })),
  /** Looks that can hurt somebody, taken while a safe one was left that was worth its time. */
  dangers: z.array(z.object({ question: z.string(), risk: z.string(), safe: z.string() })),
})
export type PracticeEnd = z.infer<typeof practiceEndSchema>

export const exerciseSchema = z.object({
  route: routeSchema,
  /** As a customer would tell it. */
  told: z.string(),
  /** What was seen first, and what is seen now; `none` when all goes well. */
  first: symptomSchema,
  now: afterSchema,
  spent: practiceSpentSchema,
  tryMinutes: z.number(),
  /** What can be looked at while this symptom is there. */
  facts: z.array(factToLookSchema),
  repairs: z.array(repairToDoSchema),
  done: z.array(practiceDoneSchema),
  /** Null until it works, or was given up. */
  end: practiceEndSchema.nullable(),
})
export type Exercise = z.infer<typeof exerciseSchema>
