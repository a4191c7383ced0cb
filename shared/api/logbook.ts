import { z } from 'zod'
import { experienceSchema } from '../experience/experience.ts'
import { loggedEventSchema } from '../logbook/event.ts'
import {
  findingSchema,
  newFindingSchema,
  newSessionSchema,
  sessionHeadSchema,
  sessionKindSchema,
} from '../logbook/session.ts'
import { logIdSchema } from '../logbook/session-id.ts'
import { problemSchema } from '../model/problem-schema.ts'
import { idSchema } from '../model/units.ts'

/** What the window and the machine say to each other about the logbook. */

const { receiverId, nickname, typeId, benchName } = newSessionSchema.shape
/** What was found wrong with the file as it was opened, and put right. */
const problem = problemSchema.optional()

export const logbookMethods = {
  /** A page of sessions, the latest first; `next` is the `before` of the next page. */
  'log.sessions': {
    request: z.strictObject({
      limit: z.number().int().min(1).max(1_000).default(100),
      before: logIdSchema.optional(),
      receiverId: idSchema.optional(),
      kind: sessionKindSchema.optional(),
    }),
    reply: z.object({ sessions: z.array(sessionHeadSchema), next: logIdSchema.nullable(), problem }),
  },
  'log.session': {
    request: z.strictObject({ id: logIdSchema }),
    reply: z.object({
      session: sessionHeadSchema.extend({ plan: newSessionSchema.shape.plan }),
      events: z.array(loggedEventSchema),
      finding: findingSchema.nullable(),
    }),
  },
  /** One session as a file by itself. */
  'log.export': {
    request: z.strictObject({ id: logIdSchema }),
    reply: z.object({ fileName: z.string(), text: z.string() }),
  },
  /** Sessions that did not come to their end, whose program is gone. */
  'log.interrupted': {
    request: z.strictObject({}),
    reply: z.object({ sessions: z.array(sessionHeadSchema), problem }),
  },
  /**
   * What earlier updates on this bench have shown of one that goes the same way: the route of a guided run, or the
   * dialect of a write. Those on the demo bench count there alone.
   */
  'log.experience': {
    request: z.strictObject({
      kind: sessionKindSchema.exclude(['diagnosis']),
      benchName,
      way: z.string().min(1).max(200),
      typeId,
    }),
    reply: experienceSchema,
  },
  /** A repair has helped. Said twice with the same id, it counts once. */
  'diagnose.ended': {
    request: z.strictObject({ receiverId, nickname, typeId, benchName, finding: newFindingSchema }),
    reply: z.object({ session: logIdSchema, problem }),
  },
  /** The trouble came back after all: the find does not count any more. */
  'diagnose.cameBack': { request: z.strictObject({ id: logIdSchema }), reply: z.object({}) },
} as const
