import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import { crc32 } from '../wire/checksum.ts'
import { sha256Hex } from './digest.ts'
import {
  findIdentity,
  IDENTITY_BYTES,
  IDENTITY_OFFSET,
  type IdentityBlock,
  isIdentity,
} from './identity-block.ts'
import type { PayloadFormat } from './image-card.ts'
import { MAX_PAYLOAD_BYTES, readIntelHex } from './intel-hex.ts'
import { readRaw } from './raw.ts'
import { recogniseFormat } from './recognise.ts'
import { readSRecords } from './s-record.ts'
import { endOf, flatten, payloadBytesOf, type Segment, sayAddress, spanOf, splitByRange } from './segments.ts'
import { readUf2 } from './uf2.ts'

/** Everything that an image file says about itself. */
export interface InspectedImage {
  readonly format: PayloadFormat
  readonly fileName: string
  readonly fileBytes: number
  readonly segments: readonly Segment[]
  /** Octets in all segments, gaps not counted. */
  readonly payloadBytes: number
  readonly lowestAddress: number
  readonly highestAddress: number
  /** See payloadDigest. */
  readonly sha256: string
  readonly crc32: number
  /** The identity block, if the image has one and it is sound. */
  readonly embedded?: IdentityBlock
  /** Where the program starts, if the file says so (Intel HEX type 05, S7 to S9 with other than 0). */
  readonly startAddress?: number
  /** What a person should know though the file was read. */
  readonly problems: readonly Problem[]
}

export interface InspectOptions {
  /** Where a raw image's first octet belongs. */
  readonly rawAddress: number
  /** Which family's image to take from a UF2 file with several. */
  readonly familyId?: number
}

/**
 * Reads an image file of whichever format.
 * @returns the image; or the problems of recogniseFormat and of the reader of that format
 */
export function inspectImage(
  octets: Uint8Array,
  fileName: string,
  options: InspectOptions,
): Result<InspectedImage> {
  const format = recogniseFormat(octets, fileName)
  if (!format.ok) return format
  const about = { format: format.value, fileName, fileBytes: octets.length }
  const read = READERS[format.value](octets, fileName, options)
  if (!read.ok) return read
  const { segments, startAddress } = read.value
  return inspectSegments(segments, { ...about, ...(startAddress ? { startAddress } : {}) }, read.warnings)
}

interface Payload {
  readonly segments: readonly Segment[]
  readonly startAddress?: number
}

const READERS: Readonly<
  Record<PayloadFormat, (octets: Uint8Array, fileName: string, options: InspectOptions) => Result<Payload>>
> = {
  raw: (octets, fileName, { rawAddress }) => {
    const raw = readRaw(octets, fileName, rawAddress)
    return raw.ok ? succeeded({ segments: raw.value }) : raw
  },
  'intel-hex': (octets, fileName) => {
    const hex = readIntelHex(octets, fileName)
    return hex.ok ? succeeded({ ...hex.value, startAddress: hex.value.startLinear }, hex.warnings) : hex
  },
  's-record': readSRecords,
  uf2: readUf2,
}

type AboutFile = Pick<InspectedImage, 'format' | 'fileName' | 'fileBytes' | 'startAddress'>

/**
 * The same for segments that are already there: built images, or what is left of a file.
 * @param segments in rising order of address, not overlapping, at least one octet
 */
export function inspectSegments(
  segments: readonly Segment[],
  about: AboutFile,
  warnings: readonly Problem[] = [],
): Result<InspectedImage> {
  const span = spanOf(segments)
  if (span === undefined)
    return failed({
      code: 'image.empty',
      message: 'There is nothing in this image.',
      file: about.fileName,
      remedy: 'Choose another image file.',
    })
  const found = findIdentity(firstOctets(segments, span))
  const problems = [...warnings]
  if (found !== undefined && !isIdentity(found)) problems.push({ ...found, file: about.fileName })
  if (span.to - span.from > MAX_PAYLOAD_BYTES) problems.push(farApart(segments, about.fileName))
  return succeeded(
    {
      ...about,
      segments,
      payloadBytes: payloadBytesOf(segments),
      lowestAddress: span.from,
      highestAddress: span.to - 1,
      ...payloadDigest(segments),
      ...(isIdentity(found) ? { embedded: found } : {}),
      problems,
    },
    problems,
  )
}

/** As much from the lowest address on as the identity block may need, whichever segments it is in. */
function firstOctets(segments: readonly Segment[], span: { from: number; to: number }): Uint8Array {
  const to = Math.min(span.to, span.from + IDENTITY_OFFSET + IDENTITY_BYTES)
  return flatten(splitByRange(segments, span.from, to).inside, span.from, to - span.from)
}

/**
 * SHA-256 and CRC-32 of the octets from the lowest to the highest address, gaps filled with FF. Where that would be
 * more than 8 MiB, because pieces lie far apart, of the octets of the segments one after the other: such an image
 * goes into no receiver anyway before what lies outside has been left out.
 * @param segments in rising order of address
 */
export function payloadDigest(segments: readonly Segment[]): { sha256: string; crc32: number } {
  const span = spanOf(segments) ?? { from: 0, to: 0 }
  const length = span.to - span.from
  const [first, ...others] = segments
  let payload: Uint8Array
  if (others.length === 0 && first?.octets.length === length) payload = first.octets
  else if (length <= MAX_PAYLOAD_BYTES) payload = flatten(segments, span.from, length)
  else payload = oneAfterTheOther(segments)
  return { sha256: sha256Hex(payload), crc32: crc32(payload) }
}

function oneAfterTheOther(segments: readonly Segment[]): Uint8Array {
  const octets = new Uint8Array(payloadBytesOf(segments))
  let at = 0
  for (const segment of segments) {
    octets.set(segment.octets, at)
    at += segment.octets.length
  }
  return octets
}

const sayPiece = (s: Segment): string =>
  `${s.octets.length} octets at ${sayAddress(s.address)} to ${sayAddress(endOf(s) - 1)}`

function farApart(segments: readonly Segment[], file: string): Problem {
  const shown = segments.slice(0, 4).map(sayPiece)
  if (segments.length > shown.length) shown.push(`${segments.length - shown.length} more`)
  return {
    code: 'image.far-apart',
    message: `The image has pieces that lie far apart: ${shown.join('; ')}.`,
    file,
    remedy: 'What lies outside the receiver’s program flash cannot be written; it can be left out.',
  }
}

/** What of an image lies in program flash, and what does not. */
export interface FlashPart {
  /** Undefined where nothing of the image lies in program flash. */
  readonly inside?: InspectedImage
  readonly outside: readonly Segment[]
  /** Says what lies outside; present where something does. */
  readonly problem?: Problem
}

/**
 * Leaves out what lies outside program flash. The caller decides whether that is allowed: `problem` says what would
 * be lost.
 */
export function partInFlash(image: InspectedImage, programAddress: number, programBytes: number): FlashPart {
  const { inside, outside } = splitByRange(image.segments, programAddress, programAddress + programBytes)
  if (outside.length === 0) return { inside: image, outside }
  const problem: Problem = {
    code: 'image.outside',
    message: `${outside.slice(0, 4).map(sayPiece).join('; ')} of the image ${
      payloadBytesOf(outside) === 1 ? 'lies' : 'lie'
    } outside the receiver’s program flash.`,
    file: image.fileName,
    expected: `addresses ${sayAddress(programAddress)} to ${sayAddress(programAddress + programBytes - 1)}`,
    remedy:
      'Choose an image for this receiver, or have that part left out if you know that it is not needed.',
  }
  if (inside.length === 0) return { outside, problem }
  const { format, fileName, fileBytes, startAddress } = image
  const rest = inspectSegments(
    inside,
    { format, fileName, fileBytes, startAddress },
    image.problems.filter(p => p.code !== 'image.far-apart' && !p.code.startsWith('identity.')),
  )
  return { ...(rest.ok ? { inside: rest.value } : {}), outside, problem }
}
