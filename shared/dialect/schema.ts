import { z } from 'zod'
import { problemsOfZod } from '../model/bench.ts'
import { withLines } from '../model/field-line.ts'
import { parseJson } from '../model/parse-json.ts'
import { failed, type Result, succeeded } from '../model/problem.ts'
import { idSchema, labelSchema } from '../model/units.ts'
import { heldBy, OBJECT_WORDS } from '../model/zod-words.ts'
import { CRC_NAMES } from './checksums.ts'
import { HEX_PATTERN } from './hex.ts'
import { brokenNames } from './names.ts'
import { hexSchema, MOST_BLOCK_OCTETS, nameSchema, orderSchema } from './schema-parts.ts'
import { leaveStepSchema, MEANINGS, MOST_MS, resynchroniseSchema, stepSchema } from './schema-steps.ts'

/**
 * A dialect file: a receiver's documented serial boot loader as data. What is in it is carried out by
 * `writeByDialect`, played by `DialectDevice` and held against recorded exchanges by `testDialect`.
 */

export const DIALECT_FORMAT = 'preflash-dialect'
export const MOST_DIALECT_CHARACTERS = 200_000

const hexNumber = z.string().regex(/^(?:0x)?[0-9A-Fa-f]{1,8}$/, 'a number of 1 to 8 hexadecimal digits')

export const checkSchema = z.discriminatedUnion('kind', [
  /** By its name in the public catalogue of parametrised CRC algorithms. */
  z.strictObject({ kind: z.literal('named'), name: z.enum(CRC_NAMES), order: orderSchema.default('big') }),
  z.strictObject({
    kind: z.literal('crc'),
    width: z.number().int().min(8).max(32),
    poly: hexNumber,
    init: hexNumber,
    refIn: z.boolean(),
    refOut: z.boolean(),
    xorOut: hexNumber,
    order: orderSchema.default('big'),
  }),
  /** Arithmetic sum of the octets, cut to 8 or 16 bits; `ones` inverts it, `twos` negates it. */
  z.strictObject({
    kind: z.literal('sum'),
    width: z.union([z.literal(8), z.literal(16)]).default(8),
    complement: z.enum(['none', 'ones', 'twos']).default('none'),
    order: orderSchema.default('big'),
  }),
  /** Exclusive-or of the octets, with `init` to begin with. */
  z.strictObject({
    kind: z.literal('xor'),
    init: z.number().int().min(0).max(255).default(0),
    complement: z.boolean().default(false),
  }),
])

const timingSchema = z.strictObject({
  ms: z.number().min(0).max(MOST_MS),
  /** On top of that, for each page of an erase batch. */
  perPageMs: z.number().min(0).max(10_000).optional(),
  /** On top of that, for each octet of the block. */
  perOctetMs: z.number().min(0).max(1000).optional(),
  note: z.string().max(200).optional(),
})

const replySchema = z.strictObject({
  octets: z.string().max(256).regex(HEX_PATTERN, 'octets such as 79, or 80 .. 01 * where some may be any'),
  means: z.enum(MEANINGS),
  /** What the receiver means by it, for the person. */
  text: z.string().trim().min(1).max(200).optional(),
})

const frameSchema = z.discriminatedUnion('kind', [
  /** Flags, octet stuffing and FCS-16 after RFC 1662. */
  z.strictObject({ kind: z.literal('rfc1662') }),
  /** Start octets, length, body, check. */
  z.strictObject({
    kind: z.literal('start-length'),
    start: hexSchema,
    length: z.strictObject({
      size: z.number().int().min(1).max(2),
      order: orderSchema.default('big'),
      /** What is added to the number of body octets. */
      plus: z.number().int().min(-8).max(16).default(0),
    }),
    check: z
      .strictObject({ use: nameSchema, over: z.enum(['body', 'length-and-body', 'all']).default('body') })
      .optional(),
    mostBody: z
      .number()
      .int()
      .min(1)
      .max(MOST_BLOCK_OCTETS + 64)
      .default(300),
  }),
])

const fieldSchema = z.strictObject({
  /** The capture. */
  name: nameSchema,
  label: labelSchema,
  show: z.enum(['hex', 'decimal', 'dotted', 'text']).default('hex'),
  /**
   * type: must be what the image is for. version: what runs there. mode: tells boot loader from program.
   */
  role: z.enum(['type', 'version', 'mode', 'other']).default('other'),
  /** For `mode`: the value that is shown while the program runs. */
  running: z.string().max(64).optional(),
})

const steps = z.array(stepSchema).max(64)

const dialectShape = z.strictObject({
  format: z.literal(DIALECT_FORMAT),
  formatVersion: z.literal(1),
  name: idSchema,
  title: labelSchema,
  /** The documentation that this was made from. */
  source: z.strictObject({ text: z.string().trim().min(1).max(400), date: z.string().trim().min(1).max(40) }),
  notes: z.string().max(2000).optional(),
  line: z.strictObject({
    /** Rates that the boot loader takes; the first one is the usual one. */
    baud: z.array(z.number().int().min(50).max(4_000_000)).min(1).max(32),
    parity: z.enum(['none', 'even', 'odd']).default('none'),
    stopBits: z.union([z.literal(1), z.literal(2)]).default(1),
    /** half-echo: one wire for both ways; what is sent comes back first and is taken off. */
    duplex: z.enum(['full', 'half-echo']).default('full'),
    polarity: z.enum(['normal', 'inverted']).default('normal'),
    /** What the port's control lines do at the receiver, for the check of the wiring; the steps move them. */
    controls: z
      .strictObject({
        dtr: z.enum(['boot', 'reset']).optional(),
        rts: z.enum(['boot', 'reset']).optional(),
      })
      .optional(),
  }),
  block: z.strictObject({
    octets: z.number().int().min(1).max(MOST_BLOCK_OCTETS),
    /** What the last block is filled up with. */
    pad: z.number().int().min(0).max(255).default(0xff),
    /** Blocks are filled up to a multiple of this; `octets` itself makes them all equal. */
    multiple: z.number().int().min(1).max(MOST_BLOCK_OCTETS).default(1),
    /** Smaller blocks for the rest of the image once it is no longer than `upTo`. */
    short: z
      .strictObject({
        octets: z.number().int().min(1).max(MOST_BLOCK_OCTETS),
        upTo: z.number().int().min(1).max(MOST_BLOCK_OCTETS),
      })
      .optional(),
    firstNumber: z.number().int().min(0).max(1).default(0),
  }),
  timings: z.record(nameSchema, timingSchema).default({}),
  retries: z.strictObject({
    /** How often a request is said at the most. */
    request: z.number().int().min(1).max(100).default(4),
    /** How often in a row it may stay unanswered; as often as it is said where left out. */
    silent: z.number().int().min(1).max(100).optional(),
    /** How often the whole is done at the most, and the pause before it is done again. */
    attempts: z.number().int().min(1).max(10).default(2),
    pauseMs: z.number().min(0).max(60_000).default(2500),
    /** After so long a gap inside a message the receiver gives it up; left out where it waits for ever. */
    receiverGapMs: z.number().min(1).max(60_000).optional(),
  }),
  checks: z.record(nameSchema, checkSchema).default({}),
  replies: z.record(nameSchema, replySchema).default({}),
  frame: frameSchema.optional(),
  enter: steps.default([]),
  identify: z
    .strictObject({
      steps: steps.min(1),
      fields: z.array(fieldSchema).min(1).max(16),
      /** The program answers to it too, so that it can be asked again after the start. */
      whenRunning: z.boolean().default(false),
    })
    .optional(),
  erase: z
    .strictObject({
      /** all: once for the whole program. pages: in batches of so many pages. */
      per: z.enum(['all', 'pages']),
      batch: z.number().int().min(1).max(255).default(1),
      steps: steps.min(1),
    })
    .optional(),
  write: z.strictObject({
    before: steps.default([]),
    block: steps.min(1),
    after: steps.default([]),
    /** look: a block that was answered badly is read first, and sent again only if it is not there. */
    onRepeat: z.enum(['send', 'look']).default('send'),
  }),
  read: z
    .strictObject({ octets: z.number().int().min(1).max(MOST_BLOCK_OCTETS), steps: steps.min(1) })
    .optional(),
  /** Has the receiver work out a check over what it holds; `capture` is then compared with `check` over the image. */
  digest: z.strictObject({ steps: steps.min(1), capture: nameSchema, check: nameSchema }).optional(),
  start: steps.optional(),
  leave: z.array(leaveStepSchema).max(16).default([]),
  resynchronise: resynchroniseSchema.default([]),
})

export type Dialect = z.infer<typeof dialectShape>
export type DialectInput = z.input<typeof dialectShape>
export type CheckSpec = z.infer<typeof checkSchema>
export type FrameSpec = z.infer<typeof frameSchema>
export type IdentitySpec = z.infer<typeof fieldSchema>

/** The shape, and that every name in it names something. */
export const dialectSchema = dialectShape.superRefine((dialect, context) => {
  for (const { path, message } of brokenNames(dialect)) context.addIssue({ code: 'custom', path, message })
})

/**
 * Reads a dialect file.
 * @param text the whole file, UTF-8 already decoded
 * @returns the dialect, or problems `dialect.too-large`, `dialect.not-json` (with its line),
 *   `dialect.not-an-object`, `dialect.field`
 */
export function readDialect(text: string, file: string): Result<Dialect> {
  if (text.length > MOST_DIALECT_CHARACTERS)
    return failed({
      code: 'dialect.too-large',
      file,
      message: 'The file is too large to be a dialect file.',
      expected: `at most ${MOST_DIALECT_CHARACTERS} characters`,
    })
  const json = text.replace(/^\uFEFF/, '')
  const parsedJson = parseJson(json)
  if (!parsedJson.ok)
    return failed({
      code: 'dialect.not-json',
      file,
      line: parsedJson.line,
      message: `This is not a readable dialect file: ${parsedJson.why}.`,
      remedy: 'Mend this line and open the file again.',
    })
  const raw = parsedJson.value
  if (typeof raw !== 'object' || raw === null || Array.isArray(raw))
    return failed({
      code: 'dialect.not-an-object',
      file,
      message: `A dialect file is an object, but this file holds ${heldBy(raw)}.`,
      expected: `${OBJECT_WORDS}, among them "format": "preflash-dialect"`,
      remedy: 'Choose another file, or make your own from a dialect that is built in.',
    })
  const parsed = dialectSchema.safeParse(raw)
  return parsed.success
    ? succeeded(parsed.data)
    : failed(...withLines(problemsOfZod(parsed.error, 'dialect.field', file, raw), json))
}

/** The dialect as a file: two-space JSON with a final line end. */
export const writeDialect = (dialect: Dialect): string => `${JSON.stringify(dialect, null, 2)}\n`

/** The published JSON Schema of the format (draft 2020-12), for editors; what comes up again is said once. */
export const dialectJsonSchema = (): unknown =>
  z.toJSONSchema(dialectShape, { io: 'input', unrepresentable: 'any', reused: 'ref' })
