/** Octets as people write them in a dialect file: pairs of hexadecimal digits, spaces between them or not. */

/** `7F`, `31 CE`, `31ce`: 1 to 64 octets. */
export const HEX_OCTETS = /^\s*(?:[0-9A-Fa-f]{2}\s*){1,64}$/
/** The same with `..` for an octet that may be any, and `*` at the end for any that may follow. */
export const HEX_PATTERN = /^\s*(?:(?:[0-9A-Fa-f]{2}|\.\.)\s*){1,64}\*?\s*$/

/** @param hex what `HEX_OCTETS` accepts */
export function octetsOfHex(hex: string): Uint8Array {
  const digits = hex.replace(/\s+/g, '')
  return Uint8Array.from({ length: digits.length >> 1 }, (_, i) =>
    Number.parseInt(digits.slice(2 * i, 2 * i + 2), 16),
  )
}

/** `31 CE`, upper case, one space between octets. */
export const hexOfOctets = (octets: ArrayLike<number>): string =>
  Array.from(octets, octet => octet.toString(16).toUpperCase().padStart(2, '0')).join(' ')

export interface Pattern {
  /** Value of each octet; -1 where any will do. */
  readonly octets: Int16Array
  /** More may follow, which happens only inside a frame. */
  readonly open: boolean
}

/** @param hex what `HEX_PATTERN` accepts */
export function patternOfHex(hex: string): Pattern {
  const signs = hex.replace(/\s+/g, '')
  const open = signs.endsWith('*')
  const count = (signs.length - (open ? 1 : 0)) >> 1
  const octets = Int16Array.from({ length: count }, (_, i) => {
    const pair = signs.slice(2 * i, 2 * i + 2)
    return pair === '..' ? -1 : Number.parseInt(pair, 16)
  })
  return { octets, open }
}

/**
 * How a pattern stands to octets from a place on.
 * @returns 'yes' with all its octets there, 'partly' while those that are there agree, 'no' otherwise
 */
export function patternAt(pattern: Pattern, octets: Uint8Array, from: number): 'yes' | 'partly' | 'no' {
  const wanted = pattern.octets
  const there = Math.min(wanted.length, octets.length - from)
  for (let i = 0; i < there; i++) if (wanted[i] >= 0 && wanted[i] !== octets[from + i]) return 'no'
  return there === wanted.length ? 'yes' : 'partly'
}
