import { isKnown, UNKNOWN } from '../model/units.ts'
import { builtFacts } from './built-facts.ts'
import { imageRule, type WithImage } from './image-rule.ts'
import {
  broken,
  evidence,
  holds,
  notKnown,
  type Remedy,
  type Rule,
  takeOtherImage,
  withUnit,
} from './rule.ts'
import { imageRules } from './rules-image.ts'
import { forSearch, goesOn, type LineImage, lineImageOf, pathTo, versionLine } from './version-line.ts'

/** The rule about versions that have to be installed on the way, and the images to do it with. */

/** What a stepping stone has to meet by itself; in which generation it leaves the receiver is for the search. */
const OF_A_STEP = imageRules.filter(rule => rule.severity === 'block' && rule.id !== 'image-generation')

/** The images of the bench that this receiver takes by cable, the newest first. */
function stepsAtHand(s: WithImage): LineImage[] {
  const { id } = s.receiverType
  const own = new Map(s.bench.images.filter(i => i.typeId === id).map(i => [i.id, i]))
  const line = [...own.values()].map(i => lineImageOf(i.id, builtFacts(i, s.receiverType)))
  return forSearch(versionLine(line)).filter(({ id: imageId }) => {
    const built = own.get(imageId)
    const facing = { ...s, route: 'cable' as const, image: built && builtFacts(built, s.receiverType) }
    return OF_A_STEP.every(rule => !rule.applies(facing) || rule.check(facing).holds === 'yes')
  })
}

/** @returns the images to install before this one, in order; undefined where there is no way with those at hand */
function stepsBefore(s: WithImage): readonly LineImage[] | undefined {
  const { firmware, generation } = s.receiver
  // Of the image itself only the step counts here: its generation has a rule of its own.
  const isStated = isKnown(s.image.generation)
  const target: LineImage = {
    id: '',
    // Its own place in the line does not matter, only what it goes on.
    version: UNKNOWN,
    sequenceNumber: UNKNOWN,
    generation: isStated ? s.image.generation : generation,
    convertsFrom: isStated ? s.image.convertsFrom : undefined,
    receiverFirmware: s.image.receiverFirmware,
  }
  const path = pathTo(target, { firmware, generation }, stepsAtHand(s))
  return path.ok ? path.steps.slice(0, -1) : undefined
}

function installFirst(s: WithImage, steps: readonly LineImage[]): Remedy {
  const last = steps[steps.length - 1]
  const names = steps.map(step => step.version).join(', then ')
  return {
    id: 'install-first',
    label: `Install ${names} first, then this image.`,
    apply: bench =>
      withUnit(bench, 'receivers', s.receiver.id, {
        firmware: last.version,
        generation: isKnown(last.generation) ? last.generation : s.receiver.generation,
        factoryFresh: false,
      }),
    minutes: 15 * steps.length,
    reversible: steps.every(step => step.convertsFrom === undefined),
  }
}

const steppingStone = imageRule({
  id: 'stepping-stone',
  claim: 'The receiver runs a version that the image can go on.',
  source: 'RFC 9124, required image version list',
  severity: 'block',
  enforcedBy: 'radio',
  looksAt: ['receiverFirmware', 'generation', 'convertsFrom'],
  applies: s => s.image.receiverFirmware !== undefined,
  check: s => {
    const { receiverFirmware } = s.image
    const runs = s.receiver.firmware
    const shown = [evidence('Image goes on', receiverFirmware), evidence('Receiver runs', runs)]
    const goes = goesOn(receiverFirmware, runs)
    if (goes === 'yes') return holds(`The image can go straight on ${runs}.`, shown)
    if (goes === 'unknown')
      return notKnown(
        `The image goes on firmware ${receiverFirmware} only, and what the receiver runs is not known.`,
        shown,
      )
    const steps = stepsBefore(s)
    return broken(
      `The image goes on firmware ${receiverFirmware} only; the receiver runs ${runs}.`,
      shown,
      steps === undefined || steps.length === 0
        ? [
            takeOtherImage(
              `Take an image that goes on ${runs}, or first one that gets it to ${receiverFirmware}.`,
            ),
          ]
        : [installFirst(s, steps)],
    )
  },
})

export const stepRules: readonly Rule[] = [steppingStone]
