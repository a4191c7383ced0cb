import { possibleTypes } from '../fit/identify.ts'
import type { Bench } from '../model/bench.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import type { Known } from '../model/units.ts'
import { isKnown } from '../model/units.ts'
import type { Manifest, StagedImage } from './manifest.ts'

/** What on a card is no longer of use to a bench. */
export type StaleKind =
  /** There is a newer image for the very same receivers. */
  | 'superseded'
  /** There is another image for this type, and nobody can say which is newer or whether it serves the same ones. */
  | 'not-known'
  /** For a type that this bench has never heard of. */
  | 'foreign'
  /** For a type of which no receiver is on the bench. */
  | 'no-receiver'

export interface StaleImage {
  readonly name: string
  readonly kind: StaleKind
  /** One sentence for a person. */
  readonly text: string
  /** The image that takes its place: an id of the bench, or a name on the card. */
  readonly by?: string
}

/** What decides whether one image takes another's place. */
type Kind = Pick<
  StagedImage,
  | 'typeId'
  | 'version'
  | 'sequenceNumber'
  | 'generation'
  | 'convertsFrom'
  | 'bands'
  | 'region'
  | 'hardwareRevisions'
>

/**
 * Staged images that are superseded, foreign, or for receivers that are no longer on the bench, in the manifest's
 * order. Of two images for one type, the one with the higher sequence number is newer (RFC 9124, monotonic sequence
 * number); it takes the other's place where it serves every receiver that the other one serves.
 */
export function staleOn(manifest: Manifest, bench: Bench): readonly StaleImage[] {
  const rivals = [
    ...bench.images.map(image => ({ id: image.id, image: image as Kind })),
    ...manifest.images.map(image => ({ id: image.name, image: image as Kind })),
  ]
  return manifest.images.flatMap(image => {
    const type = bench.catalogue.receiverTypes.find(t => t.id === image.typeId)
    if (type === undefined) return [foreign(image)]
    const label = `${type.maker} ${type.name}`
    if (!bench.receivers.some(r => mayBeOf(bench, r, image.typeId))) return [withoutReceiver(image, label)]
    const verdicts = rivals
      .filter(rival => rival.id !== image.name && rival.image.typeId === image.typeId)
      .map(rival => ({ ...rival, takes: takesPlaceOf(rival.image, image) }))
    const newest = verdicts
      .filter(v => v.takes === true)
      .sort((a, b) => Number(b.image.sequenceNumber) - Number(a.image.sequenceNumber))[0]
    if (newest) return [superseded(image, newest.id, newest.image.version)]
    const unsure = verdicts.find(v => v.takes === undefined)
    return unsure ? [undecided(image, unsure.id)] : []
  })
}

/** @returns undefined where what would decide it is not known */
function takesPlaceOf(newer: Kind, older: Kind): boolean | undefined {
  const answers = [
    bothKnown(newer.sequenceNumber, older.sequenceNumber, (a, b) => a > b),
    newer.convertsFrom === older.convertsFrom,
    bothKnown(newer.generation, older.generation, (a, b) => a === b),
    bothKnown(newer.bands, older.bands, (a, b) => b.every(band => a.includes(band))),
    bothKnown(newer.region, older.region, (a, b) => a === 'any' || a === b),
    bothKnown(
      newer.hardwareRevisions,
      older.hardwareRevisions,
      (a, b) => a === 'any' || (b !== 'any' && b.every(revision => a.includes(revision))),
    ),
  ]
  if (answers.includes(false)) return false
  return answers.includes(undefined) ? undefined : true
}

function bothKnown<T>(a: Known<T>, b: Known<T>, judge: (a: T, b: T) => boolean): boolean | undefined {
  return isKnown<T>(a) && isKnown<T>(b) ? judge(a, b) : undefined
}

/** A receiver whose type is not known may be what the image is for. */
const mayBeOf = (bench: Bench, receiver: ReceiverUnit, typeId: string): boolean =>
  isKnown(receiver.typeId)
    ? receiver.typeId === typeId
    : possibleTypes(bench, receiver).possible.some(type => type.id === typeId)

const foreign = (image: StagedImage): StaleImage => ({
  name: image.name,
  kind: 'foreign',
  text: `${image.name} is for a type of receiver called "${image.typeId}", which is not in this bench's catalogue.`,
})

const withoutReceiver = (image: StagedImage, type: string): StaleImage => ({
  name: image.name,
  kind: 'no-receiver',
  text: `${image.name} is for ${type}, and there is no receiver of that type on the bench.`,
})

const superseded = (image: StagedImage, by: string, version: Known<string>): StaleImage => ({
  name: image.name,
  kind: 'superseded',
  by,
  text: `${image.name} is superseded by ${by}${isKnown(version) ? `, version ${version}` : ''}.`,
})

const undecided = (image: StagedImage, by: string): StaleImage => ({
  name: image.name,
  kind: 'not-known',
  by,
  text: `Whether ${by} takes the place of ${image.name} cannot be said: too little is known of one of them.`,
})
