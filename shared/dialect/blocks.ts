import type { Dialect } from './schema.ts'

/** How an image is cut into blocks. */

export interface BlockCut {
  /** Octets of the image in it, and with padding. */
  readonly real: number
  readonly padded: number
}

const gcd = (a: number, b: number): number => (b === 0 ? a : gcd(b, a % b))

/**
 * The block at an offset.
 * @param wordOctets blocks come in multiples of this too
 */
export function cutAt(
  { block }: Pick<Dialect, 'block'>,
  imageOctets: number,
  offset: number,
  wordOctets = 1,
): BlockCut {
  const rest = imageOctets - offset
  const { short } = block
  const size = short !== undefined && rest <= short.upTo ? short.octets : block.octets
  const real = Math.min(rest, size)
  const multiple = (block.multiple * wordOctets) / gcd(block.multiple, wordOctets)
  return { real, padded: Math.max(real, Math.min(size, Math.ceil(real / multiple) * multiple)) }
}

/** How many blocks the whole image comes to. */
export function blockCountOf(dialect: Pick<Dialect, 'block'>, imageOctets: number): number {
  let count = 0
  for (let offset = 0; offset < imageOctets; count++) offset += cutAt(dialect, imageOctets, offset).real
  return count
}

/** The octets of a block, filled up where the image ends in it. */
export function blockOctets(
  image: Uint8Array,
  offset: number,
  { real, padded }: BlockCut,
  pad: number,
): Uint8Array {
  const part = image.subarray(offset, offset + real)
  if (padded === real) return part
  const octets = new Uint8Array(padded).fill(pad, real)
  octets.set(part)
  return octets
}
