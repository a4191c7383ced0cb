import { z } from 'zod'
import { benchFileMethods, draftSchema } from './bench-files.ts'
import { cardEvents, cardMethods } from './card.ts'
import { defineContract, problemSchema } from './define.ts'
import { diagnoseMethods } from './diagnose.ts'
import { dialectsEvents, dialectsMethods } from './dialects.ts'
import { guideMethods } from './guide.ts'
import { keysMethods } from './keys.ts'
import { libraryEvents, libraryMethods } from './library.ts'
import { logbookMethods } from './logbook.ts'
import { portsEvents, portsMethods } from './ports.ts'
import { practiseMethods } from './practise.ts'
import { rehearseEvents, rehearseMethods } from './rehearse.ts'
import { settingsSchema } from './settings.ts'
import { watchEvents, watchMethods } from './watch.ts'
import { writeEvents, writeMethods } from './write.ts'

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
    ...rehearseMethods,
    ...diagnoseMethods,
    ...practiseMethods,
    ...benchFileMethods,
    ...libraryMethods,
    ...cardMethods,
    ...keysMethods,
    ...guideMethods,
    ...logbookMethods,
    ...watchMethods,
    ...portsMethods,
    ...dialectsMethods,
    ...writeMethods,
    /** Unsaved changes that outlive the window. */
    'draft.get': { request: z.strictObject({}), reply: z.object({ draft: draftSchema.nullable() }) },
    'draft.set': { request: z.strictObject({ draft: draftSchema.nullable() }), reply: z.object({}) },
    'settings.get': {
      request: z.strictObject({}),
      /** `problem` where the kept settings could not be read and the defaults are given instead. */
      reply: z.object({ settings: settingsSchema, problem: problemSchema.optional() }),
    },
    'settings.set': {
      request: z.strictObject({ settings: settingsSchema }),
      reply: z.object({ settings: settingsSchema }),
    },
  },
  events: {
    ...rehearseEvents,
    ...libraryEvents,
    ...watchEvents,
    ...portsEvents,
    ...dialectsEvents,
    ...writeEvents,
    'menu.chosen': z.strictObject({ command: menuCommandSchema }),
    ...cardEvents,
  },
})

export type AppContract = typeof contract
