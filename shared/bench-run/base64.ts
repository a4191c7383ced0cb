/** Octets as text and back: base64 of RFC 4648, section 4, with padding. */

const LETTERS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/'
const VALUES = new Map([...LETTERS].map((letter, value) => [letter.charCodeAt(0), value]))
const SHAPE = /^(?:[A-Za-z0-9+/]{4})*(?:[A-Za-z0-9+/]{2}==|[A-Za-z0-9+/]{3}=)?$/

export function toBase64(octets: Uint8Array): string {
  const pieces: string[] = []
  let text = ''
  for (let i = 0; i < octets.length; i += 3) {
    const left = octets.length - i
    const bits = (octets[i] << 16) | ((octets[i + 1] ?? 0) << 8) | (octets[i + 2] ?? 0)
    text += LETTERS[bits >> 18] + LETTERS[(bits >> 12) & 63]
    text += (left > 1 ? LETTERS[(bits >> 6) & 63] : '=') + (left > 2 ? LETTERS[bits & 63] : '=')
    if (text.length > 8192) {
      pieces.push(text)
      text = ''
    }
  }
  return pieces.join('') + text
}

/** @returns undefined for a text that is not base64 */
export function fromBase64(text: string): Uint8Array | undefined {
  if (text.length % 4 !== 0 || !SHAPE.test(text)) return undefined
  const padding = text.endsWith('==') ? 2 : text.endsWith('=') ? 1 : 0
  const octets = new Uint8Array((text.length / 4) * 3 - padding)
  for (let i = 0, at = 0; i < text.length; i += 4) {
    let bits = 0
    for (let k = 0; k < 4; k++) bits = (bits << 6) | (VALUES.get(text.charCodeAt(i + k)) ?? 0)
    for (let k = 0; k < 3 && at < octets.length; k++) octets[at++] = (bits >> (16 - 8 * k)) & 0xff
  }
  return octets
}
