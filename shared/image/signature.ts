import { ed25519 } from '@noble/curves/ed25519.js'
import { z } from 'zod'
import { problemsOfZod } from '../model/bench.ts'
import { withLines } from '../model/field-line.ts'
import { parseJson } from '../model/parse-json.ts'
import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import { isKnown, labelSchema } from '../model/units.ts'
import { digestWords, sha256Hex, toHex, vendorIdOf } from './digest.ts'
import { type ImageCard, uuidSchema } from './image-card.ts'

/**
 * A maker's signature on an image card: Ed25519 (RFC 8032, section 5.1, without context or pre-hash) over the octets
 * of signedBytes. The card states the payload's size and SHA-256, so that the signature covers the image as well as
 * everything that the card says of it.
 */

/** Keeps these signatures apart from all others that a key may make. */
const DOMAIN = 'Preflash image card, signature structure 1'
export const MAX_KEYS_CHARACTERS = 200_000
const MOST_KEYS = 500

const publicKeySchema = z
  .string()
  .toLowerCase()
  .regex(/^[0-9a-f]{64}$/, 'an Ed25519 public key: 64 hexadecimal digits')
  .refine(isPublicKey, 'an Ed25519 public key: these digits are none')

/** A key that the person trusts. */
export const trustedKeySchema = z.strictObject({
  /** The name by which image cards refer to it. */
  keyId: z.string().min(1).max(120),
  maker: labelSchema,
  /** RFC 9124's vendor id; the one made from the maker's name (vendorIdOf) where it is not given. */
  vendorId: uuidSchema.optional(),
  publicKey: publicKeySchema,
  /** When the person took it in. */
  added: z.iso.datetime(),
})
export type TrustedKey = z.infer<typeof trustedKeySchema>

export const trustedKeysSchema = z
  .array(trustedKeySchema)
  .max(MOST_KEYS)
  .superRefine((keys, context) => {
    keys.forEach(({ keyId }, i) => {
      if (keys.findIndex(k => k.keyId === keyId) < i)
        context.addIssue({
          code: 'custom',
          path: [i, 'keyId'],
          message: `the key "${keyId}" is there already; each name once`,
        })
    })
  })

/** `missing`: there is none; `unknown-key`: it is made with a key that the person does not trust yet. */
export type SignatureVerdict = 'good' | 'bad' | 'missing' | 'unknown-key'

/** `bad` blocks; `missing` and `unknown-key` are said. */
export interface Judged {
  readonly verdict: SignatureVerdict
  /** The trusted key that the card refers to, if there is one. */
  readonly key?: TrustedKey
  /** Why it is not good. */
  readonly problem?: Problem
}

/** Whether 64 hexadecimal digits are a point of the curve that is not of small order, as RFC 8032 has it. */
export function isPublicKey(hex: string): boolean {
  try {
    return !ed25519.Point.fromHex(hex).isSmallOrder()
  } catch {
    return false
  }
}

/**
 * The octets that are signed: the ASCII text `Preflash image card, signature structure 1`, one octet 00, and the card
 * without its `signature` as UTF-8 JSON after RFC 8785: no blanks, the members of each object sorted by their names'
 * UTF-16 code units, strings and whole numbers as ECMAScript writes them; lists keep their order. The fields are those
 * that readImageCard gives: a missing `dependencies` counts as `{}`, hexadecimal digits are in lower case.
 */
export function signedBytes(card: ImageCard): Uint8Array {
  const { signature: _, ...statement } = card
  return new TextEncoder().encode(`${DOMAIN}\0${canonicalJson(statement)}`)
}

/** RFC 8785 for what cards consist of: text, whole numbers, truth values, lists and objects. */
function canonicalJson(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(',')}]`
  if (typeof value !== 'object' || value === null) return JSON.stringify(value)
  const members = Object.entries(value).filter(([, member]) => member !== undefined)
  members.sort(([a], [b]) => (a < b ? -1 : 1))
  return `{${members.map(([name, member]) => `${JSON.stringify(name)}:${canonicalJson(member)}`).join(',')}}`
}

/**
 * Words by which two people compare a public key: of its SHA-256, eight words, 128 bits, which a forger cannot meet by
 * trying. See digestWords.
 * @param publicKey 64 hexadecimal digits
 */
export const keyWords = (publicKey: string): string => digestWords(sha256Hex(octetsOf(publicKey)), 8)

const octetsOf = (hex: string): Uint8Array =>
  Uint8Array.from({ length: hex.length / 2 }, (_, i) => Number.parseInt(hex.slice(2 * i, 2 * i + 2), 16))

/** The public key that belongs to a secret one of 32 octets, as 64 hexadecimal digits. */
export const publicKeyOf = (secretKey: Uint8Array): string => toHex(ed25519.getPublicKey(secretKey))

/**
 * The card with a signature under the name of the key; one that is there already is replaced.
 * @param secretKey 32 octets, RFC 8032's private key
 */
export function signCard(card: ImageCard, keyId: string, secretKey: Uint8Array): ImageCard {
  const value = toHex(ed25519.sign(signedBytes(card), secretKey))
  return { ...card, signature: { algorithm: 'Ed25519', keyId, value } }
}

/**
 * Judges an image by the signature on its card.
 * @param payloadSha256 of the image itself, as payloadDigest gives it, not as the card states it
 * @returns `bad` (`signature.wrong`, `.other-image`, `.other-maker`) must block; `missing` (`signature.missing`) and
 * `unknown-key` (`signature.unknown-key`) leave the maker unproven
 */
export function judgeSignature(card: ImageCard, payloadSha256: string, keys: readonly TrustedKey[]): Judged {
  const { signature } = card
  if (signature === undefined)
    return {
      verdict: 'missing',
      problem: {
        code: 'signature.missing',
        message: 'The image card is not signed, so nothing proves that the image comes from its maker.',
        field: 'signature',
        remedy: 'Where the maker publishes the digest, compare it with the one shown here.',
      },
    }
  const key = keys.find(k => k.keyId === signature.keyId)
  if (key === undefined)
    return {
      verdict: 'unknown-key',
      problem: {
        code: 'signature.unknown-key',
        message: `The image card is signed with the key "${signature.keyId}", which is not among your trusted keys.`,
        field: 'signature.keyId',
        remedy: 'Get the key from its maker by a way that you trust, and add it to the trusted keys.',
      },
    }
  const problem = whyBad(card, signature.value, payloadSha256, key)
  return problem === undefined ? { verdict: 'good', key } : { verdict: 'bad', key, problem }
}

function whyBad(card: ImageCard, value: string, payloadSha256: string, key: TrustedKey): Problem | undefined {
  const remedy = 'Do not use this image. Get it again from its maker.'
  if (!verifyEd25519(octetsOf(value), signedBytes(card), octetsOf(key.publicKey)))
    return {
      code: 'signature.wrong',
      message: `The signature is not one that the key "${key.keyId}" of ${key.maker} made on this image card.`,
      field: 'signature.value',
      remedy,
    }
  if (card.sha256 !== payloadSha256)
    return {
      code: 'signature.other-image',
      message: 'The image card is signed, but it belongs to another image: the digest differs.',
      field: 'sha256',
      expected: card.sha256,
      remedy,
    }
  const vendorId = key.vendorId ?? vendorIdOf(key.maker)
  if (card.vendorId === vendorId) return undefined
  return {
    code: 'signature.other-maker',
    message: `The key "${key.keyId}" belongs to ${key.maker}, and the image card ${
      isKnown(card.vendorId) ? 'names another maker' : 'names no maker'
    }.`,
    field: 'vendorId',
    expected: vendorId,
    remedy,
  }
}

/**
 * RFC 8032, section 5.1.7, with the strict reading of points and numbers: a key may only sign for what cannot be
 * rewritten into another valid signature.
 * @param signature 64 octets
 * @param publicKey 32 octets
 */
export function verifyEd25519(signature: Uint8Array, message: Uint8Array, publicKey: Uint8Array): boolean {
  try {
    return ed25519.verify(signature, message, publicKey, { zip215: false })
  } catch {
    return false
  }
}

/**
 * Reads a file of trusted keys: a JSON list.
 * @returns the keys, or `keys.too-large`, `keys.not-json`, `keys.field`
 */
export function readTrustedKeys(text: string, fileName: string): Result<TrustedKey[]> {
  const no = (problem: Pick<Problem, 'code' | 'message' | 'line'>): Result<never> =>
    failed({
      ...problem,
      file: fileName,
      expected: 'a JSON list of keys, each with keyId, maker, publicKey and added',
      remedy: 'Correct the file, or choose another one.',
    })
  if (text.length > MAX_KEYS_CHARACTERS)
    return no({ code: 'keys.too-large', message: 'The file is too large to be a list of keys.' })
  const json = text.replace(/^\uFEFF/, '')
  const parsedJson = parseJson(json)
  if (!parsedJson.ok)
    return no({
      code: 'keys.not-json',
      line: parsedJson.line,
      message: `This is no list of keys: ${parsedJson.why}.`,
    })
  const raw = parsedJson.value
  const parsed = trustedKeysSchema.safeParse(raw)
  return parsed.success
    ? succeeded(parsed.data)
    : failed(...withLines(problemsOfZod(parsed.error, 'keys.field', fileName, raw), text))
}
