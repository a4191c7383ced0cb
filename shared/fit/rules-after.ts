import satisfies from 'semver/functions/satisfies.js'
import gtr from 'semver/ranges/gtr.js'
import { findType } from '../model/bench.ts'
import type { ModuleUnit } from '../model/gear.ts'
import { isKnown } from '../model/units.ts'
import { imageRule, type WithImage } from './image-rule.ts'
import {
  broken,
  type Check,
  COMMON_PRACTICE,
  evidence,
  holds,
  notKnown,
  type Remedy,
  type Rule,
  takeOtherImage,
  withUnit,
} from './rule.ts'
import { hasModule, pairingOf, updateModule, type WithModule } from './rules-link.ts'

/** Rules about what comes after the update: does the module still work with the receiver? */

export type WithBoth = WithImage & WithModule

/** A rule that applies where there is an image and a module to work with afterwards. */
export const afterRule = (
  rule: Omit<Parameters<typeof imageRule>[0], 'applies' | 'check'> & {
    applies: (s: WithBoth) => boolean
    check: (s: WithBoth) => Check
  },
): Rule =>
  imageRule({
    ...rule,
    applies: s => hasModule(s) && isOn(s) && rule.applies(s),
    check: s => {
      if (!hasModule(s)) throw new Error(`rule ${rule.id} was asked without a module`)
      return rule.check(s)
    },
  })

/** Is this the module that the receiver flies with? One that is bound to nothing has none yet. */
const isOn = ({ receiver, model }: WithModule): boolean =>
  receiver.boundTo !== undefined || model !== undefined

/** What the image asks of the module; where it asks nothing, what the catalogue says of such firmware. */
function moduleRange({ bench, image, receiver, receiverType }: WithImage): string | undefined {
  if (image.moduleFirmware !== undefined) return image.moduleFirmware
  const generation = isKnown(image.generation) ? image.generation : receiver.generation
  return pairingOf(bench, receiverType.family, image.version, generation)?.moduleFirmware
}

export const moduleAfter = afterRule({
  id: 'after-module',
  claim: 'The module works with the receiver once it runs the image.',
  source: 'RFC 9124, dependencies',
  severity: 'block',
  enforcedBy: 'computer',
  looksAt: ['moduleFirmware', 'version', 'generation'],
  applies: s => moduleRange(s) !== undefined,
  check: s => {
    const range = moduleRange(s) ?? '*'
    const runs = s.module.firmware
    const shown = [
      evidence('Module', s.module.nickname),
      evidence('Module runs', runs),
      evidence('Image needs module', range),
    ]
    if (!isKnown(runs))
      return notKnown(`The image needs module firmware ${range}; what the module runs is not known.`, shown)
    if (satisfies(runs, range, { includePrerelease: true }))
      return holds(`Module ${runs} works with the receiver once it runs this image.`, shown)
    return gtr(runs, range, { includePrerelease: true })
      ? broken(
          `The module's ${runs} is too new for this image, which needs ${range}.`,
          shown,
          [takeOtherImage(`Take an image that works with module firmware ${runs}.`)],
          'above',
        )
      : broken(
          `It fits once the module runs ${range}; now it runs ${runs}.`,
          shown,
          [updateModule(s, range)],
          'below',
        )
  },
})

/** Another module of the bench that speaks this generation on a band of the receiver, and is in a radio. */
export function moduleFor(s: WithBoth, generation: number): ModuleUnit | undefined {
  return s.bench.modules.find(module => {
    const type = findType(s.bench.catalogue, 'moduleTypes', module.typeId)
    return (
      module.id !== s.module.id &&
      type !== undefined &&
      type.family === s.receiverType.family &&
      isKnown(type.generations) &&
      type.generations.includes(generation) &&
      type.bands.some(band => s.receiverType.bands.includes(band)) &&
      s.bench.radios.some(radio => radio.moduleIds.includes(module.id))
    )
  })
}

export const bindTo = (s: WithBoth, module: ModuleUnit): Remedy => ({
  id: 'bind-elsewhere',
  label: `Afterwards bind the receiver to ${module.nickname}.`,
  apply: bench => withUnit(bench, 'receivers', s.receiver.id, { boundTo: module.id }),
  minutes: 10,
  reversible: true,
})

export const generationAfter = afterRule({
  id: 'after-generation',
  claim: 'The module can transmit the generation that the receiver has afterwards.',
  source: `${COMMON_PRACTICE}: an update neither adds nor removes a generation that the hardware has or lacks`,
  severity: 'warn',
  enforcedBy: 'computer',
  looksAt: ['generation'],
  applies: s => isKnown(s.image.generation) && s.image.generation !== s.receiver.generation,
  check: s => {
    const { generation } = s.image
    const { generations } = s.moduleType
    const shown = [
      evidence('Module', s.module.nickname),
      evidence('Module can transmit', isKnown(generations) ? generations.join(', ') : 'unknown'),
      evidence('Receiver is generation, afterwards', generation),
    ]
    if (!isKnown(generation) || !isKnown(generations))
      return notKnown('Which generations the module can transmit is not known.', shown)
    if (generations.includes(generation))
      return holds(`The module can transmit generation ${generation} too.`, shown)
    const other = moduleFor(s, generation)
    return broken(
      `Afterwards the receiver is generation ${generation}, which ${s.module.nickname} cannot transmit, and no update of it will change that.`,
      shown,
      [
        other
          ? bindTo(s, other)
          : takeOtherImage('Take an image that leaves the receiver in its generation.'),
      ],
    )
  },
})
