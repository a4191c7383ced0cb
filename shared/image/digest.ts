import { sha1 } from '@noble/hashes/legacy.js'
import { sha256 } from '@noble/hashes/sha2.js'

/** Digests and the identifiers made from them. */

const HEX = Array.from({ length: 256 }, (_, octet) => octet.toString(16).padStart(2, '0'))

/** Two lower-case hexadecimal digits an octet. */
export function toHex(octets: Uint8Array): string {
  let text = ''
  for (const octet of octets) text += HEX[octet]
  return text
}

/** SHA-256 (FIPS 180-4) as 64 lower-case hexadecimal digits. */
export const sha256Hex = (octets: Uint8Array): string => toHex(sha256(octets))

/** The name space of domain names, RFC 9562 section 6.6. */
export const NAMESPACE_DNS = '6ba7b810-9dad-11d1-80b4-00c04fd430c8'

/**
 * The 16 octets of a UUID in its text form.
 * @throws RangeError when the text is no UUID
 */
export function uuidOctets(uuid: string): Uint8Array {
  if (!/^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i.test(uuid)) throw new RangeError(`no UUID: ${uuid}`)
  const digits = uuid.replaceAll('-', '')
  return Uint8Array.from({ length: 16 }, (_, i) => Number.parseInt(digits.slice(2 * i, 2 * i + 2), 16))
}

/** The text form of 16 octets from `from` on. */
export function uuidText(octets: Uint8Array, from = 0): string {
  const digits = toHex(octets.subarray(from, from + 16))
  return [0, 8, 12, 16, 20].map((at, i, all) => digits.slice(at, all[i + 1] ?? 32)).join('-')
}

/**
 * Version 5 UUID of a name in a name space (RFC 9562 section 5.5).
 * @throws RangeError when the name space is no UUID
 */
export function uuidv5(namespace: string, name: string): string {
  const nameOctets = new TextEncoder().encode(name)
  const message = new Uint8Array(16 + nameOctets.length)
  message.set(uuidOctets(namespace))
  message.set(nameOctets, 16)
  const octets = sha1(message).slice(0, 16)
  octets[6] = (octets[6] & 0x0f) | 0x50
  octets[8] = (octets[8] & 0x3f) | 0x80
  return uuidText(octets)
}

/**
 * RFC 9124's vendor identifier: version 5 of the maker's domain name. A maker of the catalogue has only a name, so
 * its domain is put under `.example`, which RFC 2606 keeps free for such use.
 */
export function vendorIdOf(vendorName: string): string {
  const label = vendorName
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/g, '-')
    .replaceAll(/^-|-$/g, '')
  return uuidv5(NAMESPACE_DNS, `${label}.example`)
}

/** RFC 9124's class identifier: version 5 of the type's name under its vendor's identifier. */
export const classIdOf = (vendorName: string, typeName: string): string =>
  uuidv5(vendorIdOf(vendorName), typeName)

/** High four bits of an octet: how its syllable begins. */
const ONSETS = ['b', 'd', 'f', 'g', 'h', 'k', 'l', 'm', 'n', 'p', 'r', 's', 't', 'v', 'w', 'z']
/** Low four bits: how it goes on. No two begin alike and end in the same sound, so that they can be told apart. */
const RIMES = ['a', 'e', 'i', 'o', 'u', 'an', 'en', 'in', 'on', 'un', 'ar', 'er', 'or', 'al', 'el', 'ol']
const SYLLABLES_A_WORD = 2

/**
 * The start of a digest as words to read out and compare, one syllable an octet, two syllables a word:
 * four words are 64 bits. That is plenty to notice a wrong or damaged file; it is no defence against a forger,
 * for whom the whole digest has to be compared.
 * @param digest hexadecimal digits, at least four for each word
 * @throws RangeError when the digest is too short or not hexadecimal
 */
export function digestWords(digest: string, words = 4): string {
  const octets = words * SYLLABLES_A_WORD
  if (!new RegExp(`^[0-9a-fA-F]{${2 * octets},}$`).test(digest))
    throw new RangeError(`a digest of ${2 * octets} hexadecimal digits or more is needed`)
  let text = ''
  for (let i = 0; i < octets; i++) {
    const octet = Number.parseInt(digest.slice(2 * i, 2 * i + 2), 16)
    if (i > 0 && i % SYLLABLES_A_WORD === 0) text += '-'
    text += ONSETS[octet >> 4] + RIMES[octet & 0x0f]
  }
  return text
}
