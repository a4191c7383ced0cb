import type { ImageFacts } from '../fit/situation.ts'
import type { ImageCard } from '../image/image-card.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { isKnown, UNKNOWN } from '../model/units.ts'
import { type Announcement, bandBits, bandsOfBits, typeCode, versionNumbers, versionText } from './bus.ts'

/** What an image card says, squeezed into what the bus carries, and back. */

const REGIONS = ['any', 'lbt', 'hopping'] as const
const NOT_KNOWN_OCTET = 0xff
const NOT_KNOWN_WORD = 0xffff

/**
 * @param type the type that the card names, where the catalogue has it: its list gives hardware revisions their bits
 */
export function announcementOf(card: ImageCard, type: ReceiverType | undefined): Announcement {
  const revisions = card.hardwareRevisions
  const hardware =
    revisions === 'any' || type === undefined
      ? 0
      : revisions === UNKNOWN
        ? NOT_KNOWN_WORD
        : revisionBits(revisions, type.hardwareRevisions)
  return {
    typeCode: typeCode(card.typeId),
    programAddress: card.programAddress,
    length: card.sizeBytes,
    crc32: card.crc32,
    version: versionNumbers(isKnown(card.version) ? card.version : '0.0.0'),
    sequenceNumber: isKnown(card.sequenceNumber) ? card.sequenceNumber : 0,
    generation: isKnown(card.generation) ? card.generation : 0,
    bands: isKnown(card.bands) ? bandBits(card.bands) : 0,
    region: card.region === UNKNOWN ? NOT_KNOWN_OCTET : REGIONS.indexOf(card.region),
    wireless: card.wirelessCapable === UNKNOWN ? NOT_KNOWN_OCTET : Number(card.wirelessCapable),
    hardware,
    convertsFrom: card.convertsFrom ?? 0,
  }
}

/** Revisions that have no bit of their own, because the type does not list them, share the last one. */
const OTHER_REVISIONS_BIT = 15

function revisionBits(revisions: readonly string[], listed: readonly string[]): number {
  let bits = 0
  for (const revision of revisions) {
    const place = listed.indexOf(revision)
    bits |= 1 << (place >= 0 && place < OTHER_REVISIONS_BIT ? place : OTHER_REVISIONS_BIT)
  }
  // All of them would read as not known; it means the same as any.
  return bits === NOT_KNOWN_WORD ? 0 : bits
}

/** The facts that a receiver of this type takes from an announcement, for the rules it stands by. */
export function factsAnnounced(
  a: Announcement,
  types: readonly ReceiverType[],
  own: ReceiverType,
  label: ImageFacts['label'],
): ImageFacts {
  const named = types.find(t => typeCode(t.id) === a.typeCode)
  return {
    typeId: named?.id ?? `type-${a.typeCode.toString(16)}`,
    version: versionText(a.version),
    sequenceNumber: a.sequenceNumber,
    generation: a.generation === 0 ? UNKNOWN : a.generation,
    convertsFrom: a.convertsFrom === 0 ? undefined : a.convertsFrom,
    bands: a.bands === 0 ? UNKNOWN : bandsOfBits(a.bands),
    region: a.region === NOT_KNOWN_OCTET ? UNKNOWN : (REGIONS[a.region] ?? UNKNOWN),
    hardwareRevisions:
      a.hardware === 0
        ? 'any'
        : a.hardware === NOT_KNOWN_WORD
          ? UNKNOWN
          : own.hardwareRevisions.filter((_, i) => i < OTHER_REVISIONS_BIT && (a.hardware >> i) & 1),
    wirelessCapable: a.wireless === NOT_KNOWN_OCTET ? UNKNOWN : a.wireless === 1,
    moduleFirmware: undefined,
    radioSystem: undefined,
    receiverFirmware: undefined,
    programAddress: a.programAddress,
    sizeBytes: a.length,
    outsideBytes: 0,
    intact: true,
    label,
    signature: undefined,
  }
}
