import { z } from 'zod'
import { HEX_OCTETS } from './hex.ts'

/** What octets are made of, in a send and in an answer. Bounds keep a hostile file small. */

export const MOST_BLOCK_OCTETS = 4096

export const nameSchema = z
  .string()
  .regex(/^[a-z][A-Za-z0-9-]{0,31}$/, 'a name such as ack or page-erase: a small letter first, up to 32 long')
export const hexSchema = z
  .string()
  .max(256)
  .regex(HEX_OCTETS, 'octets in hexadecimal such as 31 CE, 1 to 64 of them')

/** Numbers that the workbench knows while it writes. */
export const KNOWN_NUMBERS = [
  /** Address of the first octet of this block (or read, or page). */
  'address',
  /** The same, counted from the start of the image. */
  'offset',
  /** Number of this block, as `block.firstNumber` counts. */
  'block',
  /** Octets in this block, padding included. */
  'length',
  /** First page of this erase batch, and pages in it. */
  'page',
  'pageCount',
  /** Blocks in the whole image. */
  'blockCount',
  /** Octets in the whole image, without padding. */
  'imageLength',
  /** Address of the first octet of the image. */
  'imageAddress',
  /** The check named by `check` over the whole image. */
  'imageCheck',
  /** Where the receiver is to start. */
  'startAddress',
] as const
export type KnownNumber = (typeof KNOWN_NUMBERS)[number]

const sizeSchema = z.number().int().min(1).max(4)
export const orderSchema = z.enum(['big', 'little'])

/** `address`, or `capture:NAME` for a number that an earlier answer held. */
export const sourceSchema = z
  .string()
  .max(48)
  .refine(
    said =>
      (KNOWN_NUMBERS as readonly string[]).includes(said) || /^capture:[a-z][A-Za-z0-9-]{0,31}$/.test(said),
    `one of ${KNOWN_NUMBERS.join(', ')}, or capture:NAME`,
  )

const octetsPart = z.strictObject({ part: z.literal('octets'), hex: hexSchema })
/** value = (source / unit + plus), complemented bit by bit where asked, cut to `size` octets. */
const numberPart = z.strictObject({
  part: z.literal('number'),
  of: sourceSchema,
  size: sizeSchema,
  order: orderSchema.default('big'),
  plus: z.number().int().min(-65_536).max(65_536).default(0),
  unit: z.number().int().min(1).max(65_536).default(1),
  complement: z.boolean().default(false),
  /** Which check, for `imageCheck`. */
  check: nameSchema.optional(),
})
/** The octets of the block. */
const dataPart = z.strictObject({ part: z.literal('data') })
/** In ASCII: the name of the image file, or its length in decimal digits. */
const textPart = z.strictObject({ part: z.literal('text'), of: z.enum(['fileName', 'imageLength']) })
/** The page numbers of this erase batch, one after the other. */
const pagesPart = z.strictObject({
  part: z.literal('pages'),
  size: z.number().int().min(1).max(2),
  order: orderSchema.default('big'),
})
/** A named check over a group of this send, or over everything before it. */
const checkPart = z.strictObject({
  part: z.literal('check'),
  use: nameSchema,
  over: z.union([z.literal('all'), nameSchema]).default('all'),
})
const insideGroup = z.discriminatedUnion('part', [octetsPart, numberPart, dataPart, textPart, pagesPart])
/** Parts under a name, filled up to a length. */
const groupPart = z.strictObject({
  part: z.literal('group'),
  name: nameSchema,
  parts: z.array(insideGroup).max(16).default([]),
  fillTo: z.number().int().min(1).max(MOST_BLOCK_OCTETS).optional(),
  fillWith: z.number().int().min(0).max(255).default(0),
})

export const sendPartSchema = z.discriminatedUnion('part', [
  octetsPart,
  numberPart,
  dataPart,
  textPart,
  pagesPart,
  checkPart,
  groupPart,
])

/** What the emulated receiver says where a capture stands. */
const saysSchema = z.union([
  hexSchema,
  /** So many octets of its memory, from so far after the start of its program. */
  z.strictObject({
    memoryAt: z.number().int().min(0).max(0xff_ffff),
    octets: z.number().int().min(1).max(64),
  }),
  /** A check over as much of its memory as the image is long. */
  z.strictObject({ memoryCheck: nameSchema }),
  /** 1 while its boot loader runs, 0 when its program does. */
  z.literal('inBootLoader'),
])
/** A value to keep under a name: a number of `size` octets, or as many octets as `length` says. */
const capturePart = z.strictObject({
  part: z.literal('capture'),
  name: nameSchema,
  size: sizeSchema.optional(),
  order: orderSchema.default('big'),
  length: z
    .strictObject({ of: sourceSchema, plus: z.number().int().min(-256).max(256).default(0) })
    .optional(),
  says: saysSchema,
})
export const answerPartSchema = z.discriminatedUnion('part', [
  octetsPart,
  numberPart,
  dataPart,
  checkPart,
  capturePart,
])

export type NumberPart = z.infer<typeof numberPart>
export type CheckPart = z.infer<typeof checkPart>
export type GroupPart = z.infer<typeof groupPart>
export type PagesPart = z.infer<typeof pagesPart>
export type CapturePart = z.infer<typeof capturePart>
export type SendPart = z.infer<typeof sendPartSchema>
export type AnswerPart = z.infer<typeof answerPartSchema>
export type Order = z.infer<typeof orderSchema>
export type SendPartInput = z.input<typeof sendPartSchema>
