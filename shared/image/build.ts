import { type Problem, ProblemError } from '../model/problem.ts'
import { type Band, type Known, type Region, versionSchema } from '../model/units.ts'
import { crc32 } from '../wire/checksum.ts'
import { classIdOf, sha256Hex, vendorIdOf } from './digest.ts'
import { encodeIdentity, IDENTITY_OFFSET, revisionBits } from './identity-block.ts'
import type { ImageCard } from './image-card.ts'
import { MAX_PAYLOAD_BYTES } from './intel-hex.ts'
import { writeCode } from './program-code.ts'
import {
  DIRECTORY_OFFSET,
  encodeDirectory,
  FIRST_SECTION,
  type SectionEntry,
  TRAILER_BYTES,
} from './program-layout.ts'
import {
  expoSection,
  failsafeCodec,
  failsafeDefaults,
  hopCodec,
  hopTable,
  outputCodec,
  outputTables,
  sineSection,
  telemetryCodec,
  telemetryDescriptors,
} from './program-sections.ts'
import type { Segment } from './segments.ts'

/**
 * Builds the demo's images: structured programs for invented receivers, the same for the same specification to the
 * last octet. program-layout.ts says where things lie.
 */
export interface BuildSpec {
  readonly typeId: string
  readonly typeName: string
  readonly vendorName: string
  readonly version: string
  readonly sequenceNumber: number
  readonly generation: number
  readonly convertsFrom?: number
  readonly bands: readonly Band[]
  readonly region: Known<Region | 'any'>
  readonly hardwareRevisions: Known<readonly string[] | 'any'>
  readonly wirelessCapable: Known<boolean>
  readonly programAddress: number
  /** Length of the whole image, 2 KiB to 8 MiB. */
  readonly sizeBytes: number
  readonly moduleFirmware?: string
  readonly radioSystem?: string
  readonly receiverFirmware?: string
  readonly releaseNotes: string
}

export const SMALLEST_IMAGE = 2048
/** Smaller images go without the curve tables. */
const CURVES_FROM_BYTES = 8192
/** Room that release notes leave for code. */
const LEAST_CODE = 256
const STACK_TOP = 0x2000_5000
const VECTORS = 64

/**
 * @returns one segment and its image card
 * @throws ProblemError `build.size`, `build.version` or `build.address` for a specification that cannot be built
 */
export function buildImage(spec: BuildSpec): { readonly segments: Segment[]; readonly card: ImageCard } {
  checkSpec(spec)
  const octets = new Uint8Array(spec.sizeBytes).fill(0xff)
  const end = spec.sizeBytes - TRAILER_BYTES
  const entries: SectionEntry[] = []
  let at = FIRST_SECTION
  const put = (tag: string, section: Uint8Array) => {
    octets.set(section, at)
    entries.push({ tag, offset: at, length: section.length, crc32: crc32(section) })
    at = (at + section.length + 15) & ~15
  }
  put('OUTS', outputCodec.encode(outputTables(spec.generation)))
  put('HOPS', hopCodec.encode(spec.bands.map(band => hopTable(band, spec.generation))))
  put('SAFE', failsafeCodec.encode(failsafeDefaults()))
  put('TELE', telemetryCodec.encode(telemetryDescriptors(spec.generation)))
  if (spec.sizeBytes >= CURVES_FROM_BYTES) {
    put('SINE', sineSection())
    put('EXPO', expoSection())
  }
  put('NOTE', notesSection(spec, end - at - LEAST_CODE))
  const functions = writeCode(octets, at, end, {
    version: threeNumbers(spec.version),
    typeHash: hashOf(spec.typeId),
  })
  entries.push({ tag: 'CODE', offset: at, length: end - at, crc32: crc32(octets, at, end) })
  octets.set(vectorTable(spec.programAddress, functions))
  octets.set(encodeDirectory(entries), DIRECTORY_OFFSET)
  octets.set(identityOf(spec), IDENTITY_OFFSET)
  new DataView(octets.buffer).setUint32(end, crc32(octets, 0, end))
  return { segments: [{ address: spec.programAddress, octets }], card: cardOf(spec, octets) }
}

function checkSpec(spec: BuildSpec): void {
  const wrong = (code: string, field: string, message: string, expected: string): ProblemError =>
    new ProblemError({ code, field, message, expected } satisfies Problem)
  if (
    !Number.isInteger(spec.sizeBytes) ||
    spec.sizeBytes < SMALLEST_IMAGE ||
    spec.sizeBytes > MAX_PAYLOAD_BYTES
  )
    throw wrong(
      'build.size',
      'sizeBytes',
      `An image of ${spec.sizeBytes} octets cannot be built.`,
      `${SMALLEST_IMAGE} to ${MAX_PAYLOAD_BYTES} octets`,
    )
  if (!versionSchema.safeParse(spec.version).success || threeNumbers(spec.version).some(n => n > 0xffff))
    throw wrong(
      'build.version',
      'version',
      `"${spec.version}" is no version for an image.`,
      'three numbers up to 65535, such as 2.3.1',
    )
  if (
    !Number.isInteger(spec.programAddress) ||
    spec.programAddress < 0 ||
    spec.programAddress + spec.sizeBytes > 2 ** 32
  )
    throw wrong(
      'build.address',
      'programAddress',
      'The image does not fit in memory from its program address.',
      'an address that leaves room for the image below 4 GiB',
    )
}

const threeNumbers = (version: string): number[] => version.split(/[-+]/)[0].split('.').map(Number)

/** A small number that depends on the type: sum of 31^i times its characters, modulo 65521. */
const hashOf = (text: string): number => {
  let hash = 0
  for (let i = 0; i < text.length; i++) hash = (hash * 31 + text.charCodeAt(i)) % 65_521
  return hash
}

/** Word 0: top of the stack; word 1: where the program starts; then one handler for each cause. */
function vectorTable(programAddress: number, functions: readonly number[]): Uint8Array {
  const octets = new Uint8Array(4 * VECTORS)
  const view = new DataView(octets.buffer)
  view.setUint32(0, STACK_TOP)
  for (let n = 1; n < VECTORS; n++)
    view.setUint32(4 * n, programAddress + functions[(n - 1) % functions.length])
  return octets
}

/** As much of the text as there is room for, cut between characters. */
function notesSection(spec: BuildSpec, room: number): Uint8Array {
  const text = `${spec.vendorName} ${spec.typeName} ${spec.version}\n${spec.releaseNotes}\n`
  const octets = new TextEncoder().encode(text)
  let length = Math.min(octets.length, Math.max(0, room))
  if (length < octets.length) while (length > 0 && (octets[length] & 0xc0) === 0x80) length--
  return octets.subarray(0, length)
}

const identityOf = (spec: BuildSpec): Uint8Array =>
  encodeIdentity({
    classId: classIdOf(spec.vendorName, spec.typeName),
    vendorId: vendorIdOf(spec.vendorName),
    sequenceNumber: spec.sequenceNumber,
    version: threeNumbers(spec.version).join('.'),
    generation: spec.generation,
    convertsFrom: spec.convertsFrom,
    bands: spec.bands,
    region: spec.region,
    hardwareRevisionBits: revisionBits(spec.hardwareRevisions),
    wirelessCapable: spec.wirelessCapable,
    imageLength: spec.sizeBytes,
    programAddress: spec.programAddress,
  })

function cardOf(spec: BuildSpec, octets: Uint8Array): ImageCard {
  const { hardwareRevisions: revisions, moduleFirmware, radioSystem, receiverFirmware } = spec
  return {
    structureVersion: 1,
    sequenceNumber: spec.sequenceNumber,
    vendorId: vendorIdOf(spec.vendorName),
    classId: classIdOf(spec.vendorName, spec.typeName),
    typeId: spec.typeId,
    version: spec.version,
    payloadFormat: 'raw',
    sizeBytes: octets.length,
    sha256: sha256Hex(octets),
    crc32: crc32(octets),
    programAddress: spec.programAddress,
    generation: spec.generation,
    ...(spec.convertsFrom === undefined ? {} : { convertsFrom: spec.convertsFrom }),
    bands: [...spec.bands],
    region: spec.region,
    hardwareRevisions: typeof revisions === 'string' ? revisions : [...revisions],
    wirelessCapable: spec.wirelessCapable,
    dependencies: {
      ...(moduleFirmware === undefined ? {} : { moduleFirmware }),
      ...(radioSystem === undefined ? {} : { radioSystem }),
      ...(receiverFirmware === undefined ? {} : { receiverFirmware }),
    },
    ...(spec.releaseNotes === '' ? {} : { notes: spec.releaseNotes }),
  }
}

export { type ImageTables, readImageTables } from './program-layout.ts'
