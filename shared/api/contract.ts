import { z } from 'zod'
import { defineContract } from './define.ts'

export const hostKindSchema = z.enum(['electron', 'browser'])
export type HostKind = z.infer<typeof hostKindSchema>

/** What the menu of the desktop shell can ask of the window. */
export const menuCommandSchema = z.enum(['new', 'open', 'save', 'save-as', 'undo', 'redo'])
export type MenuCommand = z.infer<typeof menuCommandSchema>

/** All that the window may ask of the machine, and all that it is told unasked. */
export const contract = defineContract({
  methods: {
    'app.info': {
      request: z.strictObject({}),
      reply: z.strictObject({
        version: z.string(),
        hostKind: hostKindSchema,
        platform: z.string(),
        dataFolder: z.string(),
      }),
    },
  },
  events: {
    'menu.chosen': z.strictObject({ command: menuCommandSchema }),
  },
})

export type AppContract = typeof contract
