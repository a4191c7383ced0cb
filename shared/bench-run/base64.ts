/** Octets as text and back: base64 of RFC 4648, section 4, with padding. */

const LETTERS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/'
const CODES = Uint8Array.from(LETTERS, letter => letter.charCodeAt(0))
const PAD = 0x3d
const NO_LETTER = 0xff
const VALUES = new Uint8Array(128).fill(NO_LETTER)
CODES.forEach((code, value) => {
  VALUES[code] = value
})

export function toBase64(octets: Uint8Array): string {
  const codes = new Uint8Array(Math.ceil(octets.length / 3) * 4)
  for (let i = 0, at = 0; i < octets.length; i += 3) {
    const left = octets.length - i
    const bits = (octets[i] << 16) | ((octets[i + 1] ?? 0) << 8) | (octets[i + 2] ?? 0)
    codes[at++] = CODES[bits >> 18]
    codes[at++] = CODES[(bits >> 12) & 63]
    codes[at++] = left > 1 ? CODES[(bits >> 6) & 63] : PAD
    codes[at++] = left > 2 ? CODES[bits & 63] : PAD
  }
  return new TextDecoder().decode(codes)
}

/** @returns undefined for a text that is not base64 */
export function fromBase64(text: string): Uint8Array | undefined {
  if (text.length % 4 !== 0) return undefined
  const padding = text.endsWith('==') ? 2 : text.endsWith('=') ? 1 : 0
  const letters = text.length - padding
  const octets = new Uint8Array((text.length / 4) * 3 - padding)
  let bits = 0
  for (let i = 0, at = 0; i < text.length; i++) {
    const value = i < letters ? (VALUES[text.charCodeAt(i)] ?? NO_LETTER) : 0
    if (value === NO_LETTER) return undefined
    bits = (bits << 6) | value
    if (i % 4 !== 3) continue
    for (let shift = 16; shift >= 0 && at < octets.length; shift -= 8) octets[at++] = (bits >> shift) & 0xff
    bits = 0
  }
  return octets
}
