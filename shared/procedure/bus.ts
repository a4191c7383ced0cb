import { RULE_IDS, type RuleId } from '../fit/rule-ids.ts'
import type { Band } from '../model/units.ts'
import { type VersionShown, versionShown } from '../model/version.ts'

/**
 * The Preflash bus: RFC 1662 octet-stuffed frames with FCS-16, whose body is one address octet, one kind octet and a
 * payload of up to 64 octets. Numbers are big-endian. A reply carries the address of who replies, and its kind is the
 * request's with the top bit set; a refusal has a kind of its own.
 */
export const ADDRESS = {
  radio: 0x00,
  module: 0x01,
  receiver: 0x10,
  firstSensor: 0x20,
  lastSensor: 0x3f,
  all: 0xff,
} as const

export const KIND = {
  poll: 0x01,
  quiet: 0x02,
  resume: 0x03,
  identify: 0x10,
  enter: 0x11,
  begin: 0x12,
  erase: 0x13,
  write: 0x14,
  digest: 0x15,
  commit: 0x16,
  restart: 0x17,
  search: 0x20,
  open: 0x21,
} as const
export type RequestKind = (typeof KIND)[keyof typeof KIND]
export const REPLY_BIT = 0x80
export const REFUSED = 0xfe

export const MAX_PAYLOAD = 64
export const MAX_BODY = 2 + MAX_PAYLOAD
/** Data octets in one write: the payload less the offset, and a whole number of the widest flash words. */
export const MAX_WRITE_DATA = 56

/** Refusals that no fit rule stands behind. */
export const REFUSAL = {
  notBegun: 0x80,
  outOfBounds: 0x81,
  digestDiffers: 0x82,
  flashFailed: 0x83,
  unknownRequest: 0x84,
} as const

export const refusalOf = (rule: RuleId): number => RULE_IDS.indexOf(rule) + 1
export const ruleOfRefusal = (reason: number): RuleId | undefined => RULE_IDS[reason - 1]

const refusalWords: Readonly<Record<number, string>> = {
  [REFUSAL.notBegun]: 'no image was announced',
  [REFUSAL.outOfBounds]: 'that lies outside its program flash',
  [REFUSAL.digestDiffers]: 'what it holds is not what was announced',
  [REFUSAL.flashFailed]: 'its flash did not take the data',
  [REFUSAL.unknownRequest]: 'it does not know this request',
}
export const sayRefusal = (reason: number): string =>
  refusalWords[reason] ?? (ruleOfRefusal(reason) ? `rule ${ruleOfRefusal(reason)}` : `reason ${reason}`)

export interface Version3 {
  readonly major: number
  readonly minor: number
  readonly patch: number
}

/** A version as the bus carries it: three numbers of 16 bits. Pre-release and build parts do not travel. */
export function versionNumbers(version: string): Version3 {
  const [major, minor, patch] = version
    .split(/[-+]/)[0]
    .split('.')
    .map(part => Math.min(0xffff, Number(part) || 0))
  return { major: major ?? 0, minor: minor ?? 0, patch: patch ?? 0 }
}
export const versionText = (v: Version3): string => `${v.major}.${v.minor}.${v.patch}`

/** Whether the version that a receiver says on the bus shows that it runs this one. */
export function firmwareShown(firmware: Version3, stated: string): VersionShown {
  const said = versionText(firmware)
  const shown = versionShown(said, stated, 'numbers')
  // Numbers beyond 16 bits are said as the greatest there is, and do not tell which they were.
  return shown.is === 'other' && said === versionText(versionNumbers(stated))
    ? { is: 'cannot-say', why: `The bus has no number as great as those of ${stated}.` }
    : shown
}

/** A type's name in four octets, for the bus: FNV-1a of its catalogue id. */
export function typeCode(typeId: string): number {
  let hash = 0x811c9dc5
  for (let i = 0; i < typeId.length; i++) hash = Math.imul(hash ^ typeId.charCodeAt(i), 0x01000193)
  return hash >>> 0
}

const BANDS: readonly Band[] = ['2.4GHz', '868MHz', '915MHz']
export const bandsOfBits = (bits: number): Band[] => BANDS.filter((_, i) => (bits >> i) & 1)
export const bandBits = (bands: readonly Band[]): number =>
  bands.reduce((bits, band) => bits | (1 << BANDS.indexOf(band)), 0)

export interface Identity {
  readonly inBootLoader: boolean
  readonly typeCode: number
  /** 0.0.0 where nothing valid is in program flash. */
  readonly firmware: Version3
  readonly generation: number
  readonly pageBytes: number
  readonly programPages: number
  /** Most data octets it takes in one write. */
  readonly writeOctets: number
}

export interface Announcement {
  readonly typeCode: number
  readonly programAddress: number
  readonly length: number
  readonly crc32: number
  readonly version: Version3
  readonly sequenceNumber: number
  readonly generation: number
  readonly bands: number
  /** 0 any, 1 listen-before-talk, 2 hopping, 255 not known. */
  readonly region: number
  /** 0 no, 1 yes, 255 not known. */
  readonly wireless: number
  /** Bit n: the n-th hardware revision that the type lists; 0 any, FFFF not known. */
  readonly hardware: number
  /** 0 where it converts nothing. */
  readonly convertsFrom: number
}

const view = (octets: Uint8Array) => new DataView(octets.buffer, octets.byteOffset, octets.byteLength)

/** A frame body: address, kind, payload. */
export function body(address: number, kind: number, payload: ArrayLike<number> = []): Uint8Array {
  const octets = new Uint8Array(2 + payload.length)
  octets[0] = address
  octets[1] = kind
  octets.set(payload, 2)
  return octets
}

export const refusalBody = (from: number, kind: number, reason: number): Uint8Array =>
  body(from, REFUSED, [kind, reason])

export function identityBody(from: number, id: Identity): Uint8Array {
  const octets = new Uint8Array(2 + 20)
  const v = view(octets)
  v.setUint8(0, from)
  v.setUint8(1, KIND.identify | REPLY_BIT)
  v.setUint8(2, id.inBootLoader ? 1 : 0)
  v.setUint32(3, id.typeCode)
  v.setUint16(7, id.firmware.major)
  v.setUint16(9, id.firmware.minor)
  v.setUint16(11, id.firmware.patch)
  v.setUint8(13, id.generation)
  v.setUint32(14, id.pageBytes)
  v.setUint16(18, id.programPages)
  v.setUint8(20, id.writeOctets)
  return octets
}

/** @returns undefined when the body is too short to be an identity */
export function readIdentity(octets: Uint8Array): Identity | undefined {
  if (octets.length < 22) return undefined
  const v = view(octets)
  return {
    inBootLoader: v.getUint8(2) === 1,
    typeCode: v.getUint32(3),
    firmware: { major: v.getUint16(7), minor: v.getUint16(9), patch: v.getUint16(11) },
    generation: v.getUint8(13),
    pageBytes: v.getUint32(14),
    programPages: v.getUint16(18),
    writeOctets: v.getUint8(20),
  }
}

export function announcementBody(to: number, a: Announcement): Uint8Array {
  const octets = new Uint8Array(2 + 33)
  const v = view(octets)
  v.setUint8(0, to)
  v.setUint8(1, KIND.begin)
  v.setUint32(2, a.typeCode)
  v.setUint32(6, a.programAddress)
  v.setUint32(10, a.length)
  v.setUint32(14, a.crc32)
  v.setUint16(18, a.version.major)
  v.setUint16(20, a.version.minor)
  v.setUint16(22, a.version.patch)
  v.setUint32(24, a.sequenceNumber)
  v.setUint8(28, a.generation)
  v.setUint8(29, a.bands)
  v.setUint8(30, a.region)
  v.setUint8(31, a.wireless)
  v.setUint16(32, a.hardware)
  v.setUint8(34, a.convertsFrom)
  return octets
}

/** @returns undefined when the body is too short to be an announcement */
export function readAnnouncement(octets: Uint8Array): Announcement | undefined {
  if (octets.length < 35) return undefined
  const v = view(octets)
  return {
    typeCode: v.getUint32(2),
    programAddress: v.getUint32(6),
    length: v.getUint32(10),
    crc32: v.getUint32(14),
    version: { major: v.getUint16(18), minor: v.getUint16(20), patch: v.getUint16(22) },
    sequenceNumber: v.getUint32(24),
    generation: v.getUint8(28),
    bands: v.getUint8(29),
    region: v.getUint8(30),
    wireless: v.getUint8(31),
    hardware: v.getUint16(32),
    convertsFrom: v.getUint8(34),
  }
}

/** @param firstPage page number from the start of program flash; @param count 1..255 */
export const eraseBody = (to: number, firstPage: number, count: number): Uint8Array =>
  body(to, KIND.erase, [firstPage >> 8, firstPage & 0xff, count])

/** @param offset octets from the start of program flash */
export function writeBody(to: number, offset: number, data: Uint8Array): Uint8Array {
  const octets = new Uint8Array(6 + data.length)
  octets[0] = to
  octets[1] = KIND.write
  octets[2] = offset >>> 24
  octets[3] = offset >>> 16
  octets[4] = offset >>> 8
  octets[5] = offset
  octets.set(data, 6)
  return octets
}

/** A body whose payload is one 32-bit number: a write's or digest's answer, or the length to digest. */
export const numberBody = (address: number, kind: number, value: number): Uint8Array =>
  body(address, kind, [value >>> 24, (value >>> 16) & 0xff, (value >>> 8) & 0xff, value & 0xff])

/** The 32-bit number at the start of the payload, or undefined where the body is too short. */
export const readNumber = (octets: Uint8Array, from = 0, length = octets.length): number | undefined =>
  length - from < 6
    ? undefined
    : ((octets[from + 2] << 24) | (octets[from + 3] << 16) | (octets[from + 4] << 8) | octets[from + 5]) >>> 0

function addressWords(address: number): string {
  if (address === ADDRESS.radio) return 'radio'
  if (address === ADDRESS.module) return 'module'
  if (address === ADDRESS.receiver) return 'receiver'
  if (address === ADDRESS.all) return 'everybody'
  if (address >= ADDRESS.firstSensor && address <= ADDRESS.lastSensor) return `sensor ${address.toString(16)}`
  return `address ${address.toString(16)}`
}

const requestWords: Readonly<Record<number, string>> = {
  [KIND.poll]: 'Poll',
  [KIND.quiet]: 'Be quiet',
  [KIND.resume]: 'Talk again',
  [KIND.identify]: 'Who are you?',
  [KIND.enter]: 'Enter the boot loader',
  [KIND.begin]: 'Announce an image',
  [KIND.erase]: 'Erase pages',
  [KIND.write]: 'Write',
  [KIND.digest]: 'Check what you hold',
  [KIND.commit]: 'Make it valid',
  [KIND.restart]: 'Restart',
  [KIND.search]: 'Look for receivers',
  [KIND.open]: 'Open the way by air',
}

const replyWords: Readonly<Record<number, string>> = {
  [KIND.identify]: 'I am',
  [KIND.enter]: 'Going into the boot loader',
  [KIND.begin]: 'Image taken on',
  [KIND.erase]: 'Erased',
  [KIND.write]: 'Written',
  [KIND.digest]: 'What I hold',
  [KIND.commit]: 'Made valid',
  [KIND.restart]: 'Restarting',
  [KIND.search]: 'Search over',
}

/**
 * A decoded frame in words.
 * @param octets the frame body after unstuffing, without FCS
 */
export function describeFrame(octets: Uint8Array, length = octets.length): { title: string; detail: string } {
  if (length < 2) return { title: 'Too short', detail: `${length} octets` }
  const [address, kind] = octets
  const who = addressWords(address)
  if (kind === REFUSED) {
    const asked = requestWords[octets[2]] ?? `kind ${octets[2]}`
    return { title: `Refused by ${who}`, detail: `${asked}: ${sayRefusal(octets[3])}` }
  }
  const reply = (kind & REPLY_BIT) !== 0
  const title = requestWords[kind & ~REPLY_BIT] ?? `Kind ${kind.toString(16)}`
  if (reply && kind === (KIND.poll | REPLY_BIT))
    return { title: `Telemetry from ${who}`, detail: `${length - 2} octets` }
  return {
    title: reply
      ? `${replyWords[kind & ~REPLY_BIT] ?? `Yes to ${title}`}, from ${who}`
      : `${title}, to ${who}`,
    detail: detailOf(octets, length, reply, title),
  }
}

function detailOf(octets: Uint8Array, length: number, reply: boolean, title: string): string {
  const kind = octets[1] & ~REPLY_BIT
  const number = readNumber(octets, 0, length)
  if (kind === KIND.write && number !== undefined)
    return reply ? `written at ${number}` : `${length - 6} octets at ${number}`
  if (kind === KIND.erase && length >= 5)
    return `${octets[4]} pages from page ${(octets[2] << 8) | octets[3]}`
  if (kind === KIND.digest && number !== undefined)
    return reply ? `CRC-32 ${number.toString(16).padStart(8, '0')}` : `over ${number} octets`
  if (kind === KIND.identify && reply) {
    const id = readIdentity(octets.subarray(0, length))
    if (id)
      return `${id.inBootLoader ? 'in its boot loader' : 'running'}, firmware ${versionText(id.firmware)}`
  }
  if (kind === KIND.begin && !reply) {
    const a = readAnnouncement(octets.subarray(0, length))
    if (a) return `version ${versionText(a.version)}, ${a.length} octets`
  }
  return reply ? `answers “${title}”` : `${length - 2} ${length === 3 ? 'octet' : 'octets'} of payload`
}
