import type { Candidate } from '../fit/rank.ts'
import type { ImageFacts } from '../fit/situation.ts'
import { classIdOf } from '../image/digest.ts'
import type { ImageCard } from '../image/image-card.ts'
import type { Bench } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { UNKNOWN } from '../model/units.ts'
import { statesVersion } from '../model/version.ts'
import type { LibraryEntry } from './entry.ts'

/**
 * What the rules look at of a library entry. The card goes first; where there is none, the block inside the image;
 * what neither says is unknown.
 * @param receiverType of the receiver; where it is not known, of the one that the image is for
 */
export function entryFacts(
  entry: LibraryEntry,
  bench: Bench,
  receiverType: ReceiverType | undefined,
): ImageFacts {
  const { card, embedded } = entry
  const inside = typeInside(entry, bench)
  const type = receiverType ?? bench.catalogue.receiverTypes.find(t => t.id === card?.typeId) ?? inside
  return {
    typeId: card?.typeId ?? inside?.id ?? UNKNOWN,
    version: card?.version ?? embedded?.version ?? UNKNOWN,
    sequenceNumber: card?.sequenceNumber ?? embedded?.sequenceNumber ?? UNKNOWN,
    generation: card?.generation ?? embedded?.generation ?? UNKNOWN,
    convertsFrom: card ? card.convertsFrom : embedded?.convertsFrom,
    bands: card?.bands ?? embedded?.bands ?? UNKNOWN,
    region: card?.region ?? embedded?.region ?? UNKNOWN,
    hardwareRevisions: card?.hardwareRevisions ?? UNKNOWN,
    wirelessCapable: card?.wirelessCapable ?? embedded?.wirelessCapable ?? UNKNOWN,
    moduleFirmware: card?.dependencies.moduleFirmware,
    radioSystem: card?.dependencies.radioSystem,
    receiverFirmware: card?.dependencies.receiverFirmware,
    programAddress: addressOf(entry, type),
    sizeBytes: entry.highestAddress - entry.lowestAddress + 1 - spanOutside(entry, type),
    outsideBytes: outsideBytes(entry, type),
    intact: intactOf(entry),
    label: labelOf(card, entry, inside),
    signature: entry.signature?.verdict,
  }
}

/**
 * A card that came with the image states a digest of its own. One that was filled in by hand was filled in after the
 * image that is there, so it proves nothing; the digest that the maker publishes does.
 */
function intactOf({ id, card, cardFrom, digestCompared }: LibraryEntry): ImageFacts['intact'] {
  if (digestCompared !== undefined) return true
  return card === null || cardFrom !== 'beside' ? UNKNOWN : card.sha256 === id
}

/** The type of the catalogue whose class id the image carries inside. */
export const typeInside = (entry: LibraryEntry, bench: Bench): ReceiverType | undefined =>
  entry.embedded &&
  bench.catalogue.receiverTypes.find(t => classIdOf(t.maker, t.name) === entry.embedded?.classId)

function labelOf(
  card: ImageCard | null,
  entry: LibraryEntry,
  inside: ReceiverType | undefined,
): ImageFacts['label'] {
  if (entry.embedded === undefined) return 'none'
  if (card === null) return 'agrees'
  const sameType = inside === undefined || inside.id === card.typeId
  return sameType && statesVersion(entry.embedded.version, card.version) ? 'agrees' : 'differs'
}

/** A raw image says nothing of addresses: it belongs where the receiver's program flash starts. */
function addressOf(entry: LibraryEntry, type: ReceiverType | undefined): number {
  if (entry.format === 'raw') return entry.card?.programAddress ?? type?.flash.programAddress ?? 0
  if (type === undefined) return entry.lowestAddress
  const { programAddress, programBytes } = type.flash
  const end = programAddress + programBytes
  const inside = entry.segments.find(s => s.address >= programAddress && s.address < end)
  // What starts a little later is filled up from the start of program flash when it is made ready.
  return inside ? programAddress : entry.lowestAddress
}

function outsideBytes(entry: LibraryEntry, type: ReceiverType | undefined): number {
  if (entry.format === 'raw' || type === undefined) return 0
  const { programAddress, programBytes } = type.flash
  const end = programAddress + programBytes
  return entry.segments.reduce((sum, s) => {
    const within = Math.max(0, Math.min(s.address + s.length, end) - Math.max(s.address, programAddress))
    return sum + s.length - within
  }, 0)
}

/** Of the whole span, what lies before and behind program flash. */
function spanOutside(entry: LibraryEntry, type: ReceiverType | undefined): number {
  if (entry.format === 'raw' || type === undefined) return 0
  const { programAddress, programBytes } = type.flash
  const end = programAddress + programBytes
  const last = entry.highestAddress + 1
  if (last <= programAddress || entry.lowestAddress >= end) return 0
  return Math.max(0, programAddress - entry.lowestAddress) + Math.max(0, last - end)
}

/** All entries as candidates for a receiver of this type. */
export const candidatesOf = (
  entries: readonly LibraryEntry[],
  bench: Bench,
  type: ReceiverType,
): Candidate[] =>
  entries.map(entry => ({ id: entry.id, name: entry.fileName, facts: entryFacts(entry, bench, type) }))
