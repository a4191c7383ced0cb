/**
 * One message between window and host, as octets:
 *
 *   octet 0       version, 1
 *   octets 1..4   length of the header, unsigned, big-endian
 *   header        UTF-8 JSON: { lengths: [of each part], body: the envelope with octets taken out }
 *   parts         the octets, one after another, nothing after the last
 */
import { z } from 'zod'
import { ProblemError } from '../model/problem.ts'
import { problemSchema } from './define.ts'
import type { Json } from './octets.ts'
import { putInOctets, takeOutOctets } from './octets.ts'

export const MAX_MESSAGE_BYTES = 64 * 1024 * 1024
const VERSION = 1
const PREFIX_BYTES = 5
const MAX_PARTS = 100_000

const name = z.string().min(1).max(200)
const id = z.number().int().min(0).max(Number.MAX_SAFE_INTEGER)
const callSchema = z.strictObject({ id, method: name, request: z.unknown() })
const replySchema = z.strictObject({ id, ok: z.literal(true), reply: z.unknown() })
const refusalSchema = z.strictObject({
  id,
  ok: z.literal(false),
  problems: z.array(problemSchema).min(1).max(1_000),
})
const eventSchema = z.strictObject({ event: name, data: z.unknown() })

export type CallEnvelope = z.infer<typeof callSchema>
export type ReplyEnvelope = z.infer<typeof replySchema> | z.infer<typeof refusalSchema>
export type EventEnvelope = z.infer<typeof eventSchema>
export type Envelope = CallEnvelope | ReplyEnvelope | EventEnvelope

const envelopeSchema = z.union([callSchema, replySchema, refusalSchema, eventSchema])
const headerSchema = z.strictObject({
  lengths: z.array(z.number().int().min(0).max(MAX_MESSAGE_BYTES)).max(MAX_PARTS),
  body: z.unknown(),
})

const malformed = (message: string): ProblemError => new ProblemError({ code: 'envelope.malformed', message })
const tooLong = (): ProblemError =>
  new ProblemError({
    code: 'envelope.size',
    message: 'The message is too long to send in one piece.',
    expected: `at most ${MAX_MESSAGE_BYTES / 1024 / 1024} MiB`,
  })

/** Packs one envelope. Throws ProblemError `envelope.value` (unsendable value) or `envelope.size` (over 64 MiB). */
export function encodeEnvelope(envelope: Envelope): Uint8Array<ArrayBuffer> {
  const parts: Uint8Array[] = []
  const body = takeOutOctets(envelope, parts)
  if (parts.length > MAX_PARTS) throw tooLong()
  const header = new TextEncoder().encode(JSON.stringify({ lengths: parts.map(part => part.length), body }))
  const total = parts.reduce((sum, part) => sum + part.length, PREFIX_BYTES + header.length)
  if (total > MAX_MESSAGE_BYTES) throw tooLong()
  const message = new Uint8Array(total)
  message[0] = VERSION
  new DataView(message.buffer).setUint32(1, header.length)
  message.set(header, PREFIX_BYTES)
  let at = PREFIX_BYTES + header.length
  for (const part of parts) {
    message.set(part, at)
    at += part.length
  }
  return message
}

/**
 * Unpacks one message from outside. Octets are copied, so they stay valid when the receive buffer is used again.
 * Throws ProblemError `envelope.size`, `envelope.malformed` or `envelope.value`; never anything else.
 */
export function decodeEnvelope(message: Uint8Array): Envelope {
  if (message.length > MAX_MESSAGE_BYTES) throw tooLong()
  if (message.length < PREFIX_BYTES || message[0] !== VERSION)
    throw malformed('The message has no known beginning.')
  const headerLength = new DataView(message.buffer, message.byteOffset, message.length).getUint32(1)
  const partsAt = PREFIX_BYTES + headerLength
  if (partsAt > message.length) throw malformed('The message ends within its header.')
  const header = readHeader(message.subarray(PREFIX_BYTES, partsAt))
  const parts = cutParts(message, partsAt, header.lengths)
  const used = parts.map(() => false)
  const body = envelopeSchema.safeParse(putInOctets(header.body as Json, { parts, used }))
  if (!body.success) throw malformed('The message is neither a call, a reply nor an event.')
  if (used.includes(false)) throw malformed('The message carries octets that nothing names.')
  return body.data
}

function readHeader(octets: Uint8Array): z.infer<typeof headerSchema> {
  let json: unknown
  try {
    json = JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(octets))
  } catch {
    throw malformed('The header of the message is not JSON text.')
  }
  const header = headerSchema.safeParse(json)
  if (!header.success) throw malformed('The header of the message has the wrong fields.')
  return header.data
}

function cutParts(message: Uint8Array, start: number, lengths: readonly number[]): Uint8Array[] {
  const parts: Uint8Array[] = []
  let at = start
  for (const length of lengths) {
    parts.push(new Uint8Array(message.subarray(at, at + length)))
    at += length
  }
  if (at !== message.length) throw malformed('The octets of the message are not as long as its header says.')
  return parts
}

export const isCall = (envelope: Envelope): envelope is CallEnvelope => 'method' in envelope
export const isReply = (envelope: Envelope): envelope is ReplyEnvelope => 'ok' in envelope
export const isEvent = (envelope: Envelope): envelope is EventEnvelope => 'event' in envelope
