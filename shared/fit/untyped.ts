import { type Bench, findType } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { isKnown, type Route } from '../model/units.ts'
import { type Identification, possibleTypes, typeLabel } from './identify.ts'
import { findingsOfAll, imagesOf } from './many.ts'
import { broken, type Check, type Evidence, evidence, type Finding, notKnown, withUnit } from './rule.ts'
import { ruleById } from './rules.ts'
import { type ImageFacts, situationOf } from './situation.ts'

/**
 * The rules on a receiver whose type is not known: whatever type it may be of, nothing can be said to fit; an image is
 * ruled out only where it would not fit any of them.
 */

const MOST_NAMES = 4

/**
 * What the rules say of each image, for a receiver of unknown type. An image for a type that it may be of is looked at
 * as if it were one; but that it is one remains unknown.
 */
export function untypedFindings(
  bench: Bench,
  receiver: ReceiverUnit,
  route: Route,
  images: readonly ImageFacts[],
): Finding[][] {
  const identification = possibleTypes(bench, receiver)
  const owns = new Map<string, Finding>()
  const found = images.map(image => {
    const own = owns.get(image.typeId) ?? typeFinding(bench, identification, image)
    owns.set(image.typeId, own)
    return [own]
  })
  for (const type of identification.possible) {
    const at = images.flatMap((image, i) => (image.typeId === type.id ? [i] : []))
    if (at.length === 0) continue
    const typed = withUnit(bench, 'receivers', receiver.id, { typeId: type.id })
    const situation = situationOf(typed, receiver.id, route, undefined)
    if (situation === undefined) continue
    const all = findingsOfAll(situation, imagesOf(at.map(i => images[i])))
    at.forEach((i, k) => {
      found[i] = withOwn(found[i][0], all[k])
    })
  }
  return found
}

const withOwn = (own: Finding, found: readonly Finding[]): Finding[] => [
  own,
  ...found.filter(f => f.rule.id !== own.rule.id),
]

/** The rule about the type, for a receiver that may be of several. */
function typeFinding(bench: Bench, { possible, excluded }: Identification, image: ImageFacts): Finding {
  const rule = ruleById('image-type')
  if (rule === undefined) throw new Error('there is no rule about the type of the image')
  const imageType = isKnown(image.typeId)
    ? findType(bench.catalogue, 'receiverTypes', image.typeId)
    : undefined
  const shown: Evidence[] = [
    evidence('Image is for', imageType ? typeLabel(imageType as ReceiverType) : image.typeId),
    evidence('Receiver is', 'unknown'),
    { label: 'It may be', value: namesOf(possible), known: possible.length > 0 },
  ]
  const out = excluded.find(({ type }) => type.id === image.typeId)
  return { rule, ...checkType(possible, out?.because, imageType as ReceiverType | undefined, shown) }
}

function checkType(
  possible: readonly ReceiverType[],
  outBecause: string | undefined,
  imageType: ReceiverType | undefined,
  shown: readonly Evidence[],
): Check {
  if (possible.length === 0)
    return notKnown(
      'No type of this bench has all that was seen of the receiver, so it cannot be said what the image would do to it.',
      shown,
    )
  if (outBecause !== undefined)
    return broken(`The receiver is not of the type that the image is for: ${outBecause}`, shown)
  if (imageType === undefined)
    return notKnown(
      'Neither the type of the receiver nor the type that the image is for is known here.',
      shown,
    )
  return notKnown(
    possible.length === 1
      ? `Of the types on this bench the receiver can only be ${typeLabel(imageType)}, but nobody has said yet that it is.`
      : `The image is for ${typeLabel(imageType)}; the receiver may be one, or something else.`,
    shown,
  )
}

const namesOf = (types: readonly ReceiverType[]): string => {
  if (types.length === 0) return 'no type of this bench'
  const named = types.slice(0, MOST_NAMES).map(typeLabel).join(', ')
  return types.length > MOST_NAMES ? `${named} and ${types.length - MOST_NAMES} more` : named
}
