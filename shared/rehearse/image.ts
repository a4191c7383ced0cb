import type { ImageFacts } from '../fit/situation.ts'
import { buildImage } from '../image/build.ts'
import { classIdOf, sha256Hex } from '../image/digest.ts'
import { cardForDeclared, type ImageCard, readImageCard } from '../image/image-card.ts'
import { type InspectedImage, inspectImage, inspectSegments, partInFlash } from '../image/inspect.ts'
import { flatten, payloadBytesOf } from '../image/segments.ts'
import { type Bench, type BuiltImage, findType } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { failed, oneOf, type Result, succeeded } from '../model/problem.ts'
import { statesVersion } from '../model/version.ts'
import { crc32 } from '../wire/checksum.ts'
import type { ImageChoice } from './report.ts'

/** An image made ready for one receiver: what goes on the card, and what the rules look at. */
export interface ReadyImage {
  readonly name: string
  readonly card: ImageCard
  /** From the start of program flash, gaps filled with FF. */
  readonly payload: Uint8Array
  readonly facts: ImageFacts
  /** Octets outside program flash that were left out on request. */
  readonly droppedOutsideBytes: number
}

/** The specification by which a bench image is built, or undefined where its type is not in the catalogue. */
function build(bench: Bench, image: BuiltImage): { inspected: InspectedImage; card: ImageCard } | undefined {
  const type = findType(bench.catalogue, 'receiverTypes', image.typeId) as ReceiverType | undefined
  if (type === undefined) return undefined
  const built = buildImage({
    ...image,
    typeName: type.name,
    vendorName: type.maker,
    programAddress: type.flash.programAddress,
  })
  const inspected = inspectSegments(built.segments, {
    format: 'raw',
    fileName: image.name,
    fileBytes: image.sizeBytes,
  })
  return inspected.ok ? { inspected: inspected.value, card: built.card } : undefined
}

/** @returns the bench's image with this id, built */
export function benchImage(bench: Bench, receiverType: ReceiverType, imageId: string): Result<ReadyImage> {
  const image = bench.images.find(i => i.id === imageId)
  const built = image && build(bench, image)
  if (image === undefined || built === undefined)
    return failed({
      code: 'image.unknown',
      field: 'image',
      message: `There is no image called "${imageId}" on the bench.`,
      expected: oneOf(
        bench.images.map(i => i.id),
        'a bench with images; this one has none',
      ),
    })
  return ready(receiverType, image.name, built.inspected, built.card, false)
}

/** An image for this type when the bench has none: for recoveries, and said wherever it is used. */
export function standInImage(receiverType: ReceiverType, generation: number): Result<ReadyImage> {
  const built = buildImage({
    typeId: receiverType.id,
    typeName: receiverType.name,
    vendorName: receiverType.maker,
    version: '99.0.0',
    sequenceNumber: 0xffff_fffe,
    generation,
    bands: receiverType.bands,
    region: 'any',
    hardwareRevisions: 'any',
    wirelessCapable: true,
    programAddress: receiverType.flash.programAddress,
    sizeBytes: Math.max(2048, Math.floor(receiverType.flash.programBytes / 2)),
    releaseNotes: 'Stands in for an image that the bench does not have.',
  })
  const about = { format: 'raw', fileName: 'stand-in', fileBytes: built.card.sizeBytes } as const
  const inspected = inspectSegments(built.segments, about)
  return inspected.ok ? ready(receiverType, 'Stand-in image', inspected.value, built.card, false) : inspected
}

/**
 * Reads the chosen image and makes it ready for this receiver.
 * @param dropOutside leave out what lies outside program flash instead of refusing
 * @returns problems that name the file and what to do, for files that cannot be read or do not fit
 */
export function readyImage(
  bench: Bench,
  receiverType: ReceiverType,
  choice: ImageChoice,
  dropOutside: boolean,
): Result<ReadyImage> {
  if (choice.kind === 'bench') return benchImage(bench, receiverType, choice.imageId)
  if (choice.kind === 'library')
    return failed({
      code: 'image.library',
      field: 'image',
      message: 'An image of the library has to be read before it can be rehearsed.',
    })
  const declaredId = choice.declared?.typeId ?? receiverType.id
  const declaredType = findType(bench.catalogue, 'receiverTypes', declaredId) as ReceiverType | undefined
  const rawAddress = (declaredType ?? receiverType).flash.programAddress
  const inspected = inspectImage(choice.octets, choice.fileName, { rawAddress })
  if (!inspected.ok) return inspected
  if (choice.cardText !== undefined) {
    const card = readImageCard(choice.cardText, `${choice.fileName} (image card)`)
    return card.ok ? ready(receiverType, choice.fileName, inspected.value, card.value, dropOutside) : card
  }
  return ready(
    receiverType,
    choice.fileName,
    inspected.value,
    declaredCard(inspected.value, declaredId, choice),
    dropOutside,
  )
}

/** What a person has said, and what the block inside the image says where there is one. */
function declaredCard(
  image: InspectedImage,
  typeId: string,
  choice: Extract<ImageChoice, { kind: 'file' }>,
): ImageCard {
  const inside = image.embedded
  return cardForDeclared({
    typeId,
    payloadFormat: image.format,
    sizeBytes: Math.min(image.highestAddress - image.lowestAddress + 1, 8 * 1024 * 1024),
    sha256: image.sha256,
    crc32: image.crc32,
    programAddress: image.lowestAddress,
    version: choice.declared?.version ?? inside?.version,
    sequenceNumber: inside?.sequenceNumber,
    generation: inside?.generation,
    convertsFrom: inside?.convertsFrom,
    bands: inside === undefined ? undefined : [...inside.bands],
    region: inside?.region,
    wirelessCapable: inside?.wirelessCapable,
  })
}

function ready(
  receiverType: ReceiverType,
  name: string,
  image: InspectedImage,
  card: ImageCard,
  dropOutside: boolean,
): Result<ReadyImage> {
  const { programAddress, programBytes } = receiverType.flash
  const part = partInFlash(image, programAddress, programBytes)
  const isForThis = card.typeId === receiverType.id
  // An image for another type is rehearsed as it is: that it is refused is what the person should see.
  const inside = isForThis ? part.inside : image
  const outsideBytes = isForThis ? payloadBytesOf(part.outside) : 0
  if (part.problem && isForThis && (!dropOutside || inside === undefined)) return failed(part.problem)
  if (inside === undefined)
    return failed({ code: 'image.empty', file: name, message: 'Nothing of this image is left to write.' })
  const from = isForThis ? programAddress : inside.lowestAddress
  const payload = flatten(inside.segments, from, inside.highestAddress + 1 - from)
  const intact = image.sha256 === card.sha256
  const staged: ImageCard = {
    ...card,
    payloadFormat: 'raw',
    programAddress: from,
    sizeBytes: payload.length,
    sha256: intact ? sha256Hex(payload) : card.sha256,
    // A card whose digest is wrong stays wrong on the way, so that the radio finds the damage too.
    crc32: intact ? crc32(payload) : card.crc32,
  }
  return succeeded({
    name,
    card: staged,
    payload,
    droppedOutsideBytes: outsideBytes,
    facts: factsOf(staged, intact, labelOf(inside, card, receiverType)),
  })
}

function labelOf(image: InspectedImage, card: ImageCard, type: ReceiverType): ImageFacts['label'] {
  const inside = image.embedded
  if (inside === undefined) return 'none'
  if (card.typeId === type.id && inside.classId !== classIdOf(type.maker, type.name)) return 'differs'
  return statesVersion(inside.version, card.version) ? 'agrees' : 'differs'
}

/** What the rules look at, from an image card. */
export function factsOf(card: ImageCard, intact: boolean, label: ImageFacts['label']): ImageFacts {
  return {
    typeId: card.typeId,
    version: card.version,
    sequenceNumber: card.sequenceNumber,
    generation: card.generation,
    convertsFrom: card.convertsFrom,
    bands: card.bands,
    region: card.region,
    hardwareRevisions: card.hardwareRevisions,
    wirelessCapable: card.wirelessCapable,
    moduleFirmware: card.dependencies.moduleFirmware,
    radioSystem: card.dependencies.radioSystem,
    receiverFirmware: card.dependencies.receiverFirmware,
    programAddress: card.programAddress,
    sizeBytes: card.sizeBytes,
    outsideBytes: 0,
    intact,
    label,
    signature: undefined,
  }
}
