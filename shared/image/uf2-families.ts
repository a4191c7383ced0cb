import { isUf2Block, readUf2Block, UF2_BLOCK_BYTES } from './uf2-block.ts'
import { forFlash } from './uf2-contents.ts'

/** A UF2 file may hold an image for each of several families of controllers, each with a numbering of its own. */

/** null stands for blocks that name no family. */
export type Uf2Family = number | null

/** A file with more families is a mistake, or made to be one. */
export const MOST_UF2_FAMILIES = 32

/**
 * The families that have data for the flash, in the order in which they come; at most MOST_UF2_FAMILIES. Damaged
 * blocks are passed over: readUf2 says what is wrong with them.
 */
export function uf2Families(octets: Uint8Array): Uf2Family[] {
  const found = new Set<Uf2Family>()
  for (
    let at = 0;
    at + UF2_BLOCK_BYTES <= octets.length && found.size < MOST_UF2_FAMILIES;
    at += UF2_BLOCK_BYTES
  ) {
    const block = readUf2Block(octets, at)
    if (isUf2Block(block) && forFlash(block) && block.payload.length > 0) found.add(block.familyId ?? null)
  }
  return [...found]
}

/**
 * The blocks of one family, as they are and in their order: a UF2 file by itself, since each family is numbered by
 * itself. Damaged blocks are left out. Empty where the family is not there.
 */
export function uf2FamilyPart(octets: Uint8Array, family: Uf2Family): Uint8Array {
  const part = new Uint8Array(octets.length)
  let length = 0
  for (let at = 0; at + UF2_BLOCK_BYTES <= octets.length; at += UF2_BLOCK_BYTES) {
    const block = readUf2Block(octets, at)
    if (!isUf2Block(block) || (block.familyId ?? null) !== family) continue
    part.set(octets.subarray(at, at + UF2_BLOCK_BYTES), length)
    length += UF2_BLOCK_BYTES
  }
  return part.slice(0, length)
}
