/** Asynchronous serial characters at the level of bits. */

export type Parity = 'none' | 'even' | 'odd'

/** Start bit, eight data bits, parity where there is one, one stop bit. */
export const bitsPerCharacter = (parity: Parity): number => (parity === 'none' ? 10 : 11)

/** Time of one character in nanoseconds, not rounded: multiply first, round once, so that nothing drifts. */
export const characterNs = (baud: number, parity: Parity = 'none'): number =>
  (bitsPerCharacter(parity) * 1e9) / baud

/** A span of octets on the line, as one talker sends them without a pause. */
export interface Spoken {
  readonly startNs: number
  readonly octets: Uint8Array
  readonly from: number
  readonly to: number
}

/** What a receiver makes of a waveform. */
export interface Heard {
  readonly octets: Uint8Array
  /** Start of each octet's start bit. */
  readonly startNs: Float64Array
  /** Characters whose stop bit or parity was wrong; they are not among the octets. */
  readonly framingErrors: number
}

/** The parity bit that makes the number of ones even or odd. */
function parityOf(octet: number, parity: Parity): number {
  let bits = octet
  bits ^= bits >> 4
  bits ^= bits >> 2
  bits ^= bits >> 1
  return parity === 'odd' ? 1 - (bits & 1) : bits & 1
}

/** Level of one bit of a character: 0 is the start bit, 1..8 the data with the least significant first. */
export function bitOfCharacter(octet: number, bit: number, parity: Parity): number {
  if (bit === 0) return 0
  if (bit <= 8) return (octet >> (bit - 1)) & 1
  if (bit === 9 && parity !== 'none') return parityOf(octet, parity)
  return 1
}

/**
 * Level of the line while somebody speaks; idle is high.
 * @returns 1 outside the span
 */
export function levelOf(spoken: Spoken, atNs: number, baud: number, parity: Parity): number {
  const bits = bitsPerCharacter(parity)
  const bitIndex = Math.floor(((atNs - spoken.startNs) * baud) / 1e9)
  const character = Math.floor(bitIndex / bits)
  if (bitIndex < 0 || character >= spoken.to - spoken.from) return 1
  return bitOfCharacter(spoken.octets[spoken.from + character], bitIndex - character * bits, parity)
}

/**
 * A receiver reading a line on which a low level wins, sampling sixteen times a bit as common UARTs do: it takes a
 * falling level as a start bit if the line is still low half a bit later, then looks at the middle of each bit.
 */
export function hearTogether(spoken: readonly Spoken[], baud: number, parity: Parity): Heard {
  const sampleNs = 1e9 / baud / 16
  const bits = bitsPerCharacter(parity)
  const level = (atNs: number) => {
    for (const s of spoken) if (levelOf(s, atNs, baud, parity) === 0) return 0
    return 1
  }
  const endNs = Math.max(...spoken.map(s => s.startNs + (s.to - s.from) * bits * sampleNs * 16))
  const startNs = Math.min(...spoken.map(s => s.startNs))
  const octets: number[] = []
  const starts: number[] = []
  let framingErrors = 0
  let sample = 0
  const at = (index: number) => startNs + (index + 0.5) * sampleNs
  while (at(sample) < endNs) {
    if (level(at(sample)) === 1) {
      sample++
      continue
    }
    if (level(at(sample + 7)) === 1) {
      sample += 8
      continue
    }
    let octet = 0
    for (let bit = 0; bit < 8; bit++) octet |= level(at(sample + 7 + (bit + 1) * 16)) << bit
    const parityOk = parity === 'none' || level(at(sample + 7 + 9 * 16)) === parityOf(octet, parity)
    const stopOk = level(at(sample + 7 + (bits - 1) * 16)) === 1
    if (parityOk && stopOk) {
      octets.push(octet)
      starts.push(at(sample))
    } else framingErrors++
    sample += (bits - 1) * 16 + 8
    while (!stopOk && at(sample) < endNs && level(at(sample)) === 0) sample++
  }
  return { octets: Uint8Array.from(octets), startNs: Float64Array.from(starts), framingErrors }
}

/**
 * The same for one talker and bits that noise has inverted: everything is aligned to whole bits then, so no
 * over-sampling is needed.
 * @param flips indexes of inverted bits, counted from the start of the span
 */
export function hearNoisy(spoken: Spoken, flips: readonly number[], baud: number, parity: Parity): Heard {
  const bits = bitsPerCharacter(parity)
  const total = (spoken.to - spoken.from) * bits
  const levels = new Uint8Array(total)
  for (let i = 0, k = 0; i < spoken.to - spoken.from; i++)
    for (let bit = 0; bit < bits; bit++)
      levels[k++] = bitOfCharacter(spoken.octets[spoken.from + i], bit, parity)
  for (const flip of flips) levels[flip] ^= 1
  const level = (i: number) => (i < total ? levels[i] : 1)
  const octets: number[] = []
  const starts: number[] = []
  let framingErrors = 0
  let i = 0
  while (i < total) {
    if (levels[i] === 1) {
      i++
      continue
    }
    let octet = 0
    for (let bit = 0; bit < 8; bit++) octet |= level(i + 1 + bit) << bit
    const parityOk = parity === 'none' || level(i + 9) === parityOf(octet, parity)
    const stopOk = level(i + bits - 1) === 1
    if (parityOk && stopOk) {
      octets.push(octet)
      starts.push(spoken.startNs + (i * 1e9) / baud)
    } else framingErrors++
    i += bits
    while (!stopOk && i < total && levels[i] === 0) i++
  }
  return { octets: Uint8Array.from(octets), startNs: Float64Array.from(starts), framingErrors }
}
