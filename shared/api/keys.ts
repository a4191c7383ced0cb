import { z } from 'zod'
import { MAX_KEYS_CHARACTERS, trustedKeySchema } from '../image/signature.ts'
import { problemSchema } from '../model/problem-schema.ts'

/** What the window and the machine say to each other about the makers' keys that the person trusts. */

const keysReply = z.object({ keys: z.array(trustedKeySchema) })
const textSchema = z.string().max(1000)

export const keysMethods = {
  'keys.list': {
    request: z.strictObject({}),
    /** `problem` where the kept keys could not be read; none is trusted then. */
    reply: keysReply.extend({ problem: problemSchema.optional() }),
  },
  /** Adds a key as somebody typed or pasted it; blanks and colons between the digits do not matter. */
  'keys.add': {
    request: z.strictObject({
      keyId: textSchema,
      maker: textSchema,
      publicKey: textSchema,
      vendorId: textSchema.optional(),
      /** Given to bring back a key that was removed. */
      added: z.iso.datetime().optional(),
    }),
    reply: keysReply,
  },
  'keys.remove': {
    request: z.strictObject({ keyId: z.string().min(1).max(120) }),
    reply: keysReply.extend({ removed: trustedKeySchema }),
  },
  /** Adds the keys of a file; what is there already is left as it is. */
  'keys.import': {
    request: z.strictObject({
      fileName: z.string().min(1).max(255),
      text: z.string().max(MAX_KEYS_CHARACTERS + 1),
    }),
    reply: keysReply.extend({ added: z.array(trustedKeySchema), known: z.number().int().min(0) }),
  },
} as const
