import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus'

/**
 * Seeded randomness, one stream for each purpose, so that switching a fault on does not shift anybody else's dice.
 * Dice decide only what is random in nature: noise, timing, which bits a torn write leaves.
 */
export interface Dice {
  /** A number in [0, 1) with 32 bits of resolution. */
  next(): number
  /** A number in [least, most). */
  between(least: number, most: number): number
}

/** FNV-1a over the purpose, mixed with the seed. */
function streamSeed(seed: number, purpose: string): number {
  let hash = 0x811c9dc5 ^ (seed >>> 0)
  for (let i = 0; i < purpose.length; i++) hash = Math.imul(hash ^ purpose.charCodeAt(i), 0x01000193)
  hash = Math.imul(hash ^ (hash >>> 16), 0x85ebca6b)
  return (hash ^ (hash >>> 13)) | 0
}

export function dice(seed: number, purpose: string): Dice {
  const generator = xoroshiro128plus(streamSeed(seed, purpose))
  const next = () => (generator.next() >>> 0) / 2 ** 32
  return { next, between: (least, most) => least + (most - least) * next() }
}
