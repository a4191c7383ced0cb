import { classIdOf, vendorIdOf } from '../../shared/image/digest.ts'
import { cardForDeclared, type ImageCard, imageCardSchema } from '../../shared/image/image-card.ts'
import type { LibraryEntry } from '../../shared/library/entry.ts'
import { typeInside } from '../../shared/library/facts.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { type Band, type Known, type Region, UNKNOWN, versionSchema } from '../../shared/model/units.ts'

/** What a person says an image is for, while it is being said. Everything may be left unknown. */
export interface CardDraft {
  readonly typeId: Known<string>
  readonly version: Known<string>
  readonly generation: Known<number>
  readonly bands: Known<readonly Band[]>
  readonly region: Known<Region> | 'any'
  readonly hardwareRevisions: Known<readonly string[]> | 'any'
  readonly wirelessCapable: Known<boolean>
}

/** What is said already: by the card, or by the block inside the image. */
export function draftOf(entry: LibraryEntry, bench: Bench): CardDraft {
  const { card, embedded } = entry
  return {
    typeId: card?.typeId ?? typeInside(entry, bench)?.id ?? UNKNOWN,
    version: card?.version ?? embedded?.version ?? UNKNOWN,
    generation: card?.generation ?? embedded?.generation ?? UNKNOWN,
    bands: card?.bands ?? embedded?.bands ?? UNKNOWN,
    region: card?.region ?? embedded?.region ?? UNKNOWN,
    hardwareRevisions: card?.hardwareRevisions ?? UNKNOWN,
    wirelessCapable: card?.wirelessCapable ?? embedded?.wirelessCapable ?? UNKNOWN,
  }
}

const FIELD_WORDS: Readonly<Record<keyof CardDraft, string>> = {
  typeId: 'type of receiver',
  version: 'version',
  generation: 'link generation',
  region: 'how the air is shared',
  bands: 'bands',
  wirelessCapable: 'whether it may go by air',
  hardwareRevisions: 'hardware revisions',
}

/** The fields that nobody has said anything about yet, in words, in the order of the form. */
export const openFields = (draft: CardDraft): string[] =>
  (Object.keys(FIELD_WORDS) as (keyof CardDraft)[])
    .filter(field => draft[field] === UNKNOWN)
    .map(field => FIELD_WORDS[field])

export type DraftErrors = Partial<Record<keyof CardDraft, string>>

export function draftErrors(draft: CardDraft): DraftErrors {
  const { version, bands, hardwareRevisions } = draft
  return {
    ...(version !== UNKNOWN && !versionSchema.safeParse(version.trim()).success
      ? { version: 'Three numbers with dots, such as 2.3.1, or not known.' }
      : {}),
    ...(Array.isArray(bands) && bands.length === 0 ? { bands: 'At least one band, or not known.' } : {}),
    ...(Array.isArray(hardwareRevisions) && hardwareRevisions.length === 0
      ? { hardwareRevisions: 'At least one revision, or not known.' }
      : {}),
  }
}

/** Where the payload starts: a raw file does not say, so it is where the type's program flash starts. */
const addressOf = (entry: LibraryEntry, bench: Bench, typeId: string): number =>
  entry.format === 'raw'
    ? (bench.catalogue.receiverTypes.find(type => type.id === typeId)?.flash.programAddress ?? 0)
    : entry.lowestAddress

/**
 * The image card that says so. What an earlier card said besides is kept, but not its signature: that was for other
 * words.
 * @param draft without errors
 */
export function cardOf(draft: CardDraft, entry: LibraryEntry, bench: Bench): ImageCard {
  const { signature: _, ...before } = entry.card ?? {}
  const type = bench.catalogue.receiverTypes.find(t => t.id === draft.typeId)
  return imageCardSchema.parse({
    ...before,
    ...cardForDeclared({
      ...draft,
      version: draft.version.trim(),
      bands: Array.isArray(draft.bands) ? [...draft.bands] : UNKNOWN,
      hardwareRevisions: Array.isArray(draft.hardwareRevisions)
        ? [...draft.hardwareRevisions]
        : (draft.hardwareRevisions as 'any' | typeof UNKNOWN),
      payloadFormat: entry.format,
      sizeBytes: entry.highestAddress - entry.lowestAddress + 1,
      sha256: entry.id,
      crc32: entry.crc32,
      programAddress: addressOf(entry, bench, draft.typeId),
      sequenceNumber: entry.card?.sequenceNumber ?? entry.embedded?.sequenceNumber,
      vendorId: type && vendorIdOf(type.maker),
      classId: type && classIdOf(type.maker, type.name),
      convertsFrom: entry.card ? entry.card.convertsFrom : entry.embedded?.convertsFrom,
      dependencies: entry.card?.dependencies,
      notes: entry.card?.notes,
    }),
  })
}
