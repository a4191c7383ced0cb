import { z } from 'zod'
import { MOST_DIALECT_CHARACTERS } from '../dialect/schema.ts'
import { problemSchema } from '../model/problem-schema.ts'
import { idSchema } from '../model/units.ts'

/** What the window and the machine say to each other about the ways of writing. */

const controlled = z.enum(['boot', 'reset'])

export const dialectListedSchema = z.object({
  name: idSchema,
  title: z.string(),
  /** `file`: one of the data folder, which can be changed and removed. */
  from: z.enum(['built-in', 'demo', 'file']),
  /** The documentation that it was made from. */
  source: z.object({ text: z.string(), date: z.string() }),
  notes: z.string().nullable(),
  /** The usual rate first; for the Preflash bus, that of the receiver's type counts. */
  baud: z.array(z.number()),
  oneWire: z.boolean(),
  /** Null where the type of the receiver says it. */
  inverted: z.boolean().nullable(),
  /** What DTR and RTS do at the receiver; null where they are left alone. */
  controls: z.object({ dtr: controlled.optional(), rts: controlled.optional() }).nullable(),
  can: z.object({
    identify: z.boolean(),
    /** What is there can be read out and kept before it is erased. */
    backup: z.boolean(),
    verify: z.enum(['read-back', 'digest', 'none']),
    start: z.boolean(),
    /** The receiver can be asked again once it runs, so that "updated" can be proven. */
    prove: z.boolean(),
  }),
  /** What the receiver says of itself. */
  identity: z.array(
    z.object({ name: z.string(), label: z.string(), role: z.enum(['type', 'version', 'mode', 'other']) }),
  ),
})
export type DialectListed = z.infer<typeof dialectListedSchema>

const reply = z.object({
  dialects: z.array(dialectListedSchema),
  /** Files of the data folder that are no dialects, with what is wrong. */
  broken: z.array(z.object({ fileName: z.string(), problems: z.array(problemSchema) })),
})

export const dialectsMethods = {
  'dialects.list': { request: z.strictObject({}), reply },
  /** The text of its file; null for the Preflash bus, which is no data. */
  'dialects.read': {
    request: z.strictObject({ name: idSchema }),
    reply: z.object({ text: z.string().nullable() }),
  },
  /** Checks it and keeps it in the data folder; one of the same name there is replaced, a built-in one never. */
  'dialects.save': {
    request: z.strictObject({ text: z.string().max(MOST_DIALECT_CHARACTERS) }),
    reply: reply.extend({ name: idSchema, replaced: z.boolean() }),
  },
  'dialects.remove': { request: z.strictObject({ name: idSchema }), reply },
} as const

export const dialectsEvents = {
  /** Ask dialects.list again. */
  'dialects.changed': z.strictObject({}),
} as const
