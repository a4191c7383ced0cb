import { z } from 'zod'
import { problemSchema } from '../model/problem-schema.ts'

/** What the window and the machine say to each other about serial ports. */

const placeSchema = z.string().min(1).max(4096)

export const portSchema = z.object({
  /** The path, or `host:port` of a serial server; by this it is asked for. */
  place: z.string(),
  kind: z.enum(['adapter', 'board', 'server', 'typed']),
  /** What it is, in words. */
  what: z.string(),
  /** What it can do, in words. */
  can: z.string(),
  /** Undefined where it is no USB adapter. Ids are four hexadecimal digits. */
  usb: z
    .object({
      vendorId: z.string(),
      productId: z.string(),
      serialNumber: z.string().optional(),
      manufacturer: z.string().optional(),
      product: z.string().optional(),
    })
    .optional(),
  /** Given by the person. */
  name: z.string().optional(),
  /** What a name stays with, in a sentence. */
  nameStays: z.string(),
  /** Somebody typed it in, so it can be removed from the list. */
  isTyped: z.boolean(),
  state: z.enum(['free', 'in-use', 'no-permission', 'absent', 'not-known']),
  stateText: z.string(),
  /** What to do where it cannot be used. */
  remedy: z.string().optional(),
  /** How late an answer may be handed over, and where the figure is from. */
  latencyMs: z.number(),
  latencyFrom: z.string(),
})
export type PortInfo = z.infer<typeof portSchema>

const portsReply = z.object({
  ports: z.array(portSchema),
  /** Where what was kept of ports could not be read. */
  problem: problemSchema.optional(),
})

export const portsMethods = {
  /** From the first call on, `ports.changed` tells when another would give another answer. */
  'ports.list': { request: z.strictObject({}), reply: portsReply },
  /** An empty name takes the name away. */
  'ports.name': {
    request: z.strictObject({ place: placeSchema, name: z.string().max(60) }),
    reply: portsReply,
  },
  /** Adds a path or a serial server, `host:port`, as somebody typed it. */
  'ports.add': { request: z.strictObject({ typed: z.string().max(4096) }), reply: portsReply },
  /** Takes what was typed in off the list. */
  'ports.remove': { request: z.strictObject({ place: placeSchema }), reply: portsReply },
} as const

export const portsEvents = {
  /** Ask ports.list again. */
  'ports.changed': z.strictObject({}),
} as const
