import { findIdentity, isIdentity } from '../image/identity-block.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { typeCode, versionNumbers } from '../procedure/bus.ts'
import { crc32 } from '../wire/checksum.ts'
import { nextRecord, type ReceiverMemory } from './memory.ts'

/**
 * The record by which a receiver's own boot loader starts what its program flash holds now, after somebody else wrote
 * it there. What the image says of itself goes into it.
 * @param toldOctets how long the image is, where it does not say so itself and somebody else has
 * @returns the record's octets, and the page where they belong
 */
export function recordOfHeld(
  memory: ReceiverMemory,
  type: ReceiverType,
  toldOctets?: number,
): { readonly page: number; readonly octets: Uint8Array } {
  const { octets } = memory.program
  const found = findIdentity(octets)
  const identity = isIdentity(found) ? found : undefined
  const length = Math.min(octets.length, identity?.imageLength ?? toldOctets ?? lengthOf(octets))
  return nextRecord(memory, {
    length,
    crc32: crc32(octets, 0, length),
    typeCode: typeCode(type.id),
    version: versionNumbers(identity?.version ?? '0.0.0'),
    sequenceNumber: identity?.sequenceNumber ?? 0,
    generation: identity?.generation ?? 0,
  })
}

/** Up to the last octet that is not erased. */
function lengthOf(octets: Uint8Array): number {
  let length = octets.length
  while (length > 0 && octets[length - 1] === 0xff) length--
  return length
}
