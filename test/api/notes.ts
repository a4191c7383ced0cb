import { z } from 'zod'
import { defineContract, octets } from '../../shared/api/define.ts'

/** A small contract for the tests of the contract's machinery. */
export const notes = defineContract({
  methods: {
    'notes.add': {
      request: z.strictObject({
        text: z.string().min(1),
        at: z.object({ line: z.number().int() }).optional(),
      }),
      reply: z.strictObject({ id: z.number().int() }),
    },
    'notes.flip': {
      request: z.strictObject({ bytes: octets(8) }),
      reply: z.strictObject({ bytes: octets(8) }),
    },
  },
  events: {
    'notes.added': z.strictObject({ id: z.number().int() }),
    'notes.cleared': z.strictObject({}),
  },
})
export type Notes = typeof notes
