import { z } from 'zod'

const UUID = /^[0-9a-f]{8}-[0-9a-f]{4}-[1-8][0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/

/** Ids of sessions and finds: UUIDs (RFC 9562) in small letters. */
export const logIdSchema = z.string().regex(UUID, 'an id of the logbook')

export const RANDOM_OCTETS = 10

/** @returns when an id of `timeSortedId` was made, in milliseconds since 1970; undefined for any other text */
export const timeOfId = (id: string): number | undefined =>
  logIdSchema.safeParse(id).success && id[14] === '7'
    ? Number.parseInt(id.slice(0, 8) + id.slice(9, 13), 16)
    : undefined

/**
 * An id that sorts by time: a UUID of version 7 (RFC 9562, section 5.7).
 * @param atMs milliseconds since 1970, 0 up to 2^48 - 1
 * @param random ten octets that nobody can foresee
 * @throws RangeError for a time or a number of octets outside that
 */
export function timeSortedId(atMs: number, random: Uint8Array): string {
  if (!Number.isInteger(atMs) || atMs < 0 || atMs >= 2 ** 48) throw new RangeError(`not a time: ${atMs}`)
  if (random.length !== RANDOM_OCTETS) throw new RangeError(`not ten octets: ${random.length}`)
  const version = 0x70 | (random[0] & 0x0f)
  const variant = 0x80 | (random[2] & 0x3f)
  const tail = [version, random[1], variant, ...random.subarray(3)]
  const hex = atMs.toString(16).padStart(12, '0') + tail.map(o => o.toString(16).padStart(2, '0')).join('')
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-')
}
