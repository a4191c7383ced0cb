import type { Problem } from '../model/problem.ts'
import { type Band, bandSchema, type Known, type Region, UNKNOWN } from '../model/units.ts'
import { crc32 } from '../wire/checksum.ts'
import { uuidOctets, uuidText } from './digest.ts'
import { sayAddress } from './segments.ts'

/**
 * The block by which an image says what it is, at IDENTITY_OFFSET from the start of program flash, so that a boot
 * loader needs nothing but the flash to judge it. All numbers are big-endian.
 *
 * | offset | octets | field |
 * | 0 | 4 | `PFLI` |
 * | 4 | 2 | structure version, 1 |
 * | 6 | 2 | length of the whole block, 72 |
 * | 8 | 16 | class id (version 5 UUID) |
 * | 24 | 16 | vendor id (version 5 UUID) |
 * | 40 | 4 | sequence number |
 * | 44 | 6 | version: major, minor, patch, 2 each |
 * | 50 | 1 | link generation |
 * | 51 | 1 | bands, bit 0 2.4GHz, bit 1 868MHz, bit 2 915MHz |
 * | 52 | 1 | region: 0 any, 1 listen-before-talk, 2 hopping, 255 not known |
 * | 53 | 1 | flags: bit 0 may be written by air, bit 1 not known whether |
 * | 54 | 1 | generation that it converts from, 0 none |
 * | 55 | 1 | zero |
 * | 56 | 2 | hardware revisions, bit 0 is A or 1, bit 1 B or 2 …; FFFF any, 0 not stated |
 * | 58 | 2 | zero |
 * | 60 | 4 | length of the image |
 * | 64 | 4 | address for which it was linked |
 * | 68 | 4 | CRC-32 of the 68 octets before |
 */
export const IDENTITY_OFFSET = 0x200
export const IDENTITY_BYTES = 72
const MAGIC = [0x50, 0x46, 0x4c, 0x49]
const STRUCTURE_VERSION = 1
const CRC_OFFSET = 68
const REGION_CODES: readonly [Known<Region | 'any'>, number][] = [
  ['any', 0],
  ['lbt', 1],
  ['hopping', 2],
  [UNKNOWN, 255],
]
const WIRELESS = 1
const WIRELESS_UNKNOWN = 2
export const ANY_REVISION = 0xffff

export interface IdentityBlock {
  readonly classId: string
  readonly vendorId: string
  readonly sequenceNumber: number
  /** Three numbers, each 0..65535: `2.4.0`. Pre-release and build parts are not in the block. */
  readonly version: string
  readonly generation: number
  readonly convertsFrom?: number
  readonly bands: readonly Band[]
  readonly region: Known<Region | 'any'>
  /** See revisionBits. */
  readonly hardwareRevisionBits: number
  readonly wirelessCapable: Known<boolean>
  readonly imageLength: number
  readonly programAddress: number
}

/**
 * Names of hardware revisions as bits: A to P or 1 to 16.
 * @returns 0 where a name is not of that kind; then only the image card tells
 */
export function revisionBits(revisions: Known<readonly string[] | 'any'>): number {
  if (revisions === 'any') return ANY_REVISION
  if (revisions === UNKNOWN) return 0
  let bits = 0
  for (const name of revisions) {
    const place = /^[A-P]$/i.test(name) ? name.toUpperCase().charCodeAt(0) - 0x41 : Number(name) - 1
    if (!Number.isInteger(place) || place < 0 || place > 15) return 0
    bits |= 1 << place
  }
  // All sixteen would read as "any".
  return bits === ANY_REVISION ? 0 : bits
}

/**
 * Whether an image with these bits is for a revision; unknown where either side does not say.
 * @param revision the unit's revision as on its label
 */
export function revisionFits(bits: number, revision: Known<string>): Known<boolean> {
  if (bits === ANY_REVISION) return true
  const asked = revision === UNKNOWN ? 0 : revisionBits([revision])
  return bits === 0 || asked === 0 ? UNKNOWN : (bits & asked) !== 0
}

/** @throws RangeError when a number does not fit its field */
export function encodeIdentity(block: IdentityBlock): Uint8Array {
  const octets = new Uint8Array(IDENTITY_BYTES)
  const view = new DataView(octets.buffer)
  const put = (at: number, bytes: 1 | 2 | 4, value: number) => {
    if (!Number.isInteger(value) || value < 0 || value >= 2 ** (8 * bytes))
      throw new RangeError(`${value} does not fit ${bytes} octets of the identity block`)
    if (bytes === 1) view.setUint8(at, value)
    else if (bytes === 2) view.setUint16(at, value)
    else view.setUint32(at, value)
  }
  octets.set(MAGIC)
  put(4, 2, STRUCTURE_VERSION)
  put(6, 2, IDENTITY_BYTES)
  octets.set(uuidOctets(block.classId), 8)
  octets.set(uuidOctets(block.vendorId), 24)
  put(40, 4, block.sequenceNumber)
  block.version.split('.').forEach((part, i) => {
    if (i > 2) throw new RangeError(`${block.version} is not three numbers`)
    put(44 + 2 * i, 2, Number(part))
  })
  put(50, 1, block.generation)
  put(51, 1, bitsOfBands(block.bands))
  put(52, 1, REGION_CODES.find(([region]) => region === block.region)?.[1] ?? 255)
  put(53, 1, block.wirelessCapable === UNKNOWN ? WIRELESS_UNKNOWN : block.wirelessCapable ? WIRELESS : 0)
  put(54, 1, block.convertsFrom ?? 0)
  put(56, 2, block.hardwareRevisionBits)
  put(60, 4, block.imageLength)
  put(64, 4, block.programAddress)
  put(CRC_OFFSET, 4, crc32(octets, 0, CRC_OFFSET))
  return octets
}

const bitsOfBands = (bands: readonly Band[]): number =>
  bands.reduce((bits, band) => bits | (1 << bandSchema.options.indexOf(band)), 0)

const problem = (code: string, message: string, expected?: string): Problem => ({
  code,
  message,
  expected,
  remedy: 'Get the image again from where it came from.',
})

/**
 * Looks for the identity block.
 * @param octets what is in program flash from its start, or would be
 * @returns the block; undefined where there is none (an image that was not made for Preflash); or
 * `identity.cut-off`, `identity.version`, `identity.damaged`, `identity.field`
 */
export function findIdentity(octets: Uint8Array): IdentityBlock | undefined | Problem {
  const at = IDENTITY_OFFSET
  if (octets.length < at + MAGIC.length || MAGIC.some((octet, i) => octets[at + i] !== octet))
    return undefined
  if (octets.length < at + IDENTITY_BYTES)
    return problem('identity.cut-off', `The image ends inside its identity block at ${sayAddress(at)}.`)
  const block = octets.subarray(at, at + IDENTITY_BYTES)
  const view = new DataView(block.buffer, block.byteOffset, IDENTITY_BYTES)
  const version = view.getUint16(4)
  if (version !== STRUCTURE_VERSION)
    return problem(
      'identity.version',
      `The identity block has structure ${version}, which this version cannot read.`,
      `structure ${STRUCTURE_VERSION}`,
    )
  if (view.getUint16(6) !== IDENTITY_BYTES || view.getUint32(CRC_OFFSET) !== crc32(block, 0, CRC_OFFSET))
    return problem('identity.damaged', 'The identity block does not add up; the image is damaged.')
  return readBlock(block, view)
}

function readBlock(block: Uint8Array, view: DataView): IdentityBlock | Problem {
  const bandBits = view.getUint8(51)
  const bands = bandSchema.options.filter((_, i) => (bandBits >> i) & 1)
  const region = REGION_CODES.find(([, code]) => code === view.getUint8(52))?.[0]
  const generation = view.getUint8(50)
  const convertsFrom = view.getUint8(54)
  const wireless = view.getUint8(53)
  if (region === undefined)
    return problem('identity.field', 'The identity block names a region that is not known.')
  if (bandBits >> bandSchema.options.length)
    return problem('identity.field', 'The identity block names a band that is not known.')
  if (generation < 1 || generation > 9 || convertsFrom > 9)
    return problem('identity.field', 'The identity block names a link generation outside 1 to 9.')
  if (wireless > WIRELESS_UNKNOWN)
    return problem('identity.field', 'The identity block has flags that are not known.')
  return {
    classId: uuidText(block, 8),
    vendorId: uuidText(block, 24),
    sequenceNumber: view.getUint32(40),
    version: `${view.getUint16(44)}.${view.getUint16(46)}.${view.getUint16(48)}`,
    generation,
    ...(convertsFrom === 0 ? {} : { convertsFrom }),
    bands,
    region,
    hardwareRevisionBits: view.getUint16(56),
    wirelessCapable: wireless === WIRELESS_UNKNOWN ? UNKNOWN : wireless === WIRELESS,
    imageLength: view.getUint32(60),
    programAddress: view.getUint32(64),
  }
}

/** Tells the block from the other two answers of findIdentity. */
export const isIdentity = (found: IdentityBlock | undefined | Problem): found is IdentityBlock =>
  found !== undefined && 'classId' in found
