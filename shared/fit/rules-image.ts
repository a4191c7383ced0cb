import semver from 'semver'
import { isKnown, regionWords } from '../model/units.ts'
import { imageRule, type WithImage } from './image-rule.ts'
import {
  broken,
  COMMON_PRACTICE,
  evidence,
  goByCable,
  holds,
  notKnown,
  type Rule,
  takeOtherImage,
} from './rule.ts'
import type { Situation } from './situation.ts'
import { changesGeneration } from './version-line.ts'

/** Rules about the image and the receiver alone. */

const kib = (bytes: number) => `${Math.ceil(bytes / 1024)} KiB`
const typeName = (s: Situation, id: string) => {
  const type = s.bench.catalogue.receiverTypes.find(t => t.id === id)
  return type ? `${type.maker} ${type.name}` : id
}

const imageType = imageRule({
  id: 'image-type',
  claim: 'The image is for this type of receiver.',
  source: 'RFC 9124, class identifier',
  severity: 'block',
  enforcedBy: 'receiver',
  looksAt: ['typeId'],
  check: s => {
    const shown = [
      evidence('Image is for', isKnown(s.image.typeId) ? typeName(s, s.image.typeId) : 'unknown'),
      evidence('Receiver is', typeName(s, s.receiverType.id)),
    ]
    if (!isKnown(s.image.typeId))
      return notKnown('Nobody has said which type of receiver this image is for.', shown)
    if (s.image.typeId === s.receiverType.id) return holds('The image is for this type of receiver.', shown)
    return broken(
      `The image is for ${typeName(s, s.image.typeId)}, not for ${typeName(s, s.receiverType.id)}.`,
      shown,
      [takeOtherImage(`Take an image for ${typeName(s, s.receiverType.id)}.`)],
    )
  },
})

const imageHardware = imageRule({
  id: 'image-hardware',
  claim: 'The image suits the hardware revision of this receiver.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'receiver',
  looksAt: ['hardwareRevisions'],
  applies: s => s.image.hardwareRevisions !== 'any',
  check: s => {
    const { hardwareRevisions } = s.image
    const listed = Array.isArray(hardwareRevisions) ? hardwareRevisions.join(', ') : 'unknown'
    const shown = [evidence('Image suits', listed), evidence('Receiver is', s.receiver.hardwareRevision)]
    if (!Array.isArray(hardwareRevisions))
      return notKnown('The image does not say which hardware revisions it suits.', shown)
    if (!isKnown(s.receiver.hardwareRevision))
      return notKnown(
        'The hardware revision of this receiver is not known: look on its label or circuit board.',
        shown,
      )
    return hardwareRevisions.includes(s.receiver.hardwareRevision)
      ? holds(`The image suits revision ${s.receiver.hardwareRevision}.`, shown)
      : broken(
          `The image suits ${listed}; this receiver is revision ${s.receiver.hardwareRevision}.`,
          shown,
          [takeOtherImage(`Take an image for revision ${s.receiver.hardwareRevision}.`)],
        )
  },
})

const imageSize = imageRule({
  id: 'image-size',
  claim: 'The image fits into the program flash.',
  source: 'arithmetic',
  severity: 'block',
  enforcedBy: 'receiver',
  looksAt: ['sizeBytes'],
  check: s => {
    const { programBytes } = s.receiverType.flash
    const shown = [evidence('Image', kib(s.image.sizeBytes)), evidence('Program flash', kib(programBytes))]
    return s.image.sizeBytes > 0 && s.image.sizeBytes <= programBytes
      ? holds('The image fits into the program flash.', shown)
      : broken(`The image has ${kib(s.image.sizeBytes)}, the program flash ${kib(programBytes)}.`, shown, [
          takeOtherImage('Take an image for this type of receiver.'),
        ])
  },
})

const imagePlace = imageRule({
  id: 'image-place',
  claim: 'All of the image lies inside program flash.',
  source: 'arithmetic',
  severity: 'block',
  enforcedBy: 'computer',
  looksAt: ['outsideBytes', 'programAddress'],
  check: s => {
    const { programAddress } = s.receiverType.flash
    const shown = [
      evidence('Outside', `${s.image.outsideBytes} octets`),
      evidence('Program flash starts at', `0x${programAddress.toString(16)}`),
    ]
    if (s.image.outsideBytes > 0)
      return broken(`${s.image.outsideBytes} octets of the image lie outside program flash.`, shown, [
        takeOtherImage('Leave that part out if the maker says so, or take another image.'),
      ])
    return s.image.programAddress === programAddress
      ? holds('All of the image lies inside program flash, from its start.', shown)
      : broken(
          `The image starts at 0x${s.image.programAddress.toString(16)}, program flash at 0x${programAddress.toString(16)}.`,
          shown,
          [takeOtherImage('Take an image for this type of receiver.')],
        )
  },
})

const imageIntact = imageRule({
  id: 'image-intact',
  claim: 'The image is what its card says, octet for octet.',
  source: 'RFC 9124, payload digest; FIPS 180-4',
  severity: 'block',
  enforcedBy: 'radio',
  looksAt: ['intact'],
  check: s => {
    const shown = [evidence('Digest agrees with the image card', s.image.intact)]
    if (!isKnown(s.image.intact))
      return notKnown(
        'No image card from its maker says what digest it should have, so damage cannot be noticed: compare the digest that the maker publishes.',
        shown,
      )
    return s.image.intact
      ? holds('The image has the digest that its card states.', shown)
      : broken('The image is damaged: its digest is not the one on its card.', shown, [
          takeOtherImage('Fetch the image again.'),
        ])
  },
})

const imageLabel = imageRule({
  id: 'image-label',
  claim: 'The image says inside what its card says outside.',
  source: 'RFC 9124, class identifier',
  severity: 'block',
  enforcedBy: 'receiver',
  looksAt: ['label'],
  applies: s => s.image.label !== 'none',
  check: s => {
    const shown = [evidence('Inside and outside agree', s.image.label === 'agrees')]
    return s.image.label === 'agrees'
      ? holds('The block inside the image names the same type and version as its card.', shown)
      : broken(
          'The block inside the image names another type than its card: it is wrongly labelled.',
          shown,
          [takeOtherImage('Take the image from its maker again.')],
        )
  },
})

const imageGeneration = imageRule({
  id: 'image-generation',
  claim: 'The receiver runs the generation of the image, or can be converted to it.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'receiver',
  looksAt: ['generation', 'convertsFrom'],
  check: s => {
    const now = s.receiver.generation
    const then = s.image.generation
    const shown = [evidence('Image is generation', then), evidence('Receiver is generation', now)]
    const change = changesGeneration(s.image, now)
    if (!isKnown(then) || !isKnown(now) || change === 'unknown')
      return notKnown('The link generation of the image or of the receiver is not known.', shown)
    if (change === 'stays') return holds(`Image and receiver are generation ${now}.`, shown)
    const conversion = s.receiverType.conversions.find(c => c.from === now && c.to === then)
    if (conversion && change === 'converts')
      return holds(
        `The image converts the receiver from generation ${now} to ${then}${conversion.oneWay ? '; there is no way back' : ''}.`,
        shown,
      )
    const sentence =
      then < now
        ? `The receiver is generation ${now} and cannot go back to ${then}.`
        : `This receiver cannot be converted from generation ${now} to ${then} with this image.`
    return broken(sentence, shown, [takeOtherImage(`Take an image for generation ${now}.`)])
  },
})

const imageBand = imageRule({
  id: 'image-band',
  claim: 'The image is for the band of the receiver.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'receiver',
  looksAt: ['bands'],
  check: s => {
    const { bands } = s.image
    const shown = [
      evidence('Image is for', isKnown(bands) ? bands.join(', ') : 'unknown'),
      evidence('Receiver works on', s.receiverType.bands.join(', ')),
    ]
    if (!isKnown(bands)) return notKnown('The image does not say for which band it is.', shown)
    return bands.some(band => s.receiverType.bands.includes(band))
      ? holds('Image and receiver are for the same band.', shown)
      : broken(
          `The image is for ${bands.join(', ')}; the receiver works on ${s.receiverType.bands.join(', ')}.`,
          shown,
          [takeOtherImage('Take the image for the other band.')],
        )
  },
})

const imageRegion = imageRule({
  id: 'image-region',
  claim: 'Image and receiver share the air in the same way.',
  source: 'ETSI EN 300 328; 47 CFR 15.247',
  severity: 'block',
  enforcedBy: 'receiver',
  looksAt: ['region'],
  applies: s => s.image.region !== 'any',
  check: s => {
    const { region } = s.image
    const shown = [
      evidence('Image', region === 'any' ? 'any' : isKnown(region) ? regionWords[region] : 'unknown'),
      evidence('Receiver', isKnown(s.receiver.region) ? regionWords[s.receiver.region] : 'unknown'),
    ]
    if (region === 'any' || !isKnown(region) || !isKnown(s.receiver.region))
      return notKnown('The region of the image or of the receiver is not known.', shown)
    return region === s.receiver.region
      ? holds(`Both are for ${regionWords[region]}.`, shown)
      : broken(
          `The image is for ${regionWords[region]}, the receiver for ${regionWords[s.receiver.region]}.`,
          shown,
          [takeOtherImage(`Take the image for ${regionWords[s.receiver.region]}.`)],
        )
  },
})

const imageOrder = imageRule({
  id: 'image-order',
  claim: 'The image is newer than what the receiver runs.',
  source: 'Semantic Versioning 2.0.0, item 11; RFC 9124, sequence number',
  severity: 'warn',
  enforcedBy: 'computer',
  looksAt: ['version'],
  check: s => {
    const shown = [evidence('Image', s.image.version), evidence('Receiver runs', s.receiver.firmware)]
    if (!isKnown(s.image.version) || !isKnown(s.receiver.firmware))
      return notKnown('Which of the two is newer cannot be said.', shown)
    const order = semver.compare(s.image.version, s.receiver.firmware)
    if (order > 0) return holds(`${s.image.version} is newer than ${s.receiver.firmware}.`, shown)
    return broken(
      order === 0
        ? `The receiver runs ${s.image.version} already.`
        : `${s.image.version} is older than ${s.receiver.firmware}.`,
      shown,
      [takeOtherImage('Take a newer image, unless going back is what you want.')],
    )
  },
})

const converts = (s: WithImage) => s.image.convertsFrom !== undefined

const conversionByCable = imageRule({
  id: 'conversion-by-cable',
  claim: 'A conversion to another generation goes by cable.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'receiver',
  looksAt: ['convertsFrom'],
  applies: s => converts(s) && s.route === 'wireless',
  check: s =>
    broken(
      'This image converts the receiver to another generation of the link; that works by cable only.',
      [evidence('Route', s.route), evidence('Converts from generation', s.image.convertsFrom)],
      [goByCable('Do it by cable.')],
    ),
})

const wirelessImage = imageRule({
  id: 'wireless-image',
  claim: 'The image may be sent by air.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'receiver',
  looksAt: ['wirelessCapable'],
  applies: s => s.route === 'wireless',
  check: s => {
    const shown = [evidence('May go by air', s.image.wirelessCapable)]
    if (!isKnown(s.image.wirelessCapable))
      return notKnown('The image does not say whether it may be sent by air.', shown)
    return s.image.wirelessCapable
      ? holds('The image may be sent by air.', shown)
      : broken('The image is for the cable only.', shown, [goByCable('Do it by cable.')])
  },
})

export const imageRules: readonly Rule[] = [
  imageType,
  imageHardware,
  imageSize,
  imagePlace,
  imageIntact,
  imageLabel,
  imageGeneration,
  imageBand,
  imageRegion,
  imageOrder,
  conversionByCable,
  wirelessImage,
]
