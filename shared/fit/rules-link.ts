import semver from 'semver'
import type { Bench } from '../model/bench.ts'
import type { ModuleType, Pairing } from '../model/catalogue.ts'
import type { ModuleUnit } from '../model/gear.ts'
import { isKnown, type Known, regionWords } from '../model/units.ts'
import {
  broken,
  type Check,
  COMMON_PRACTICE,
  evidence,
  goByCable,
  holds,
  notKnown,
  type Remedy,
  type Rule,
  withUnit,
} from './rule.ts'
import type { Situation } from './situation.ts'

/** Rules about the way through the air: radio, module and receiver. They matter for a wireless update only. */

export type WithModule = Situation & { module: ModuleUnit; moduleType: ModuleType }
export const hasModule = (s: Situation): s is WithModule =>
  s.module !== undefined && s.moduleType !== undefined
const wireless = (s: Situation) => s.route === 'wireless'

function moduleRule(
  rule: Omit<Rule, 'applies' | 'check' | 'severity'> & { check: (s: WithModule) => Check },
): Rule {
  const { check } = rule
  return {
    ...rule,
    severity: 'block',
    applies: s => wireless(s) && hasModule(s),
    check: s => {
      if (!hasModule(s)) throw new Error(`rule ${rule.id} was asked without a module`)
      return check(s)
    },
  }
}

const modulePresent: Rule = {
  id: 'module-present',
  claim: 'The radio has the module that the receiver is bound to.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'radio',
  applies: wireless,
  check: s => {
    const shown = [
      evidence('Radio', s.radio?.nickname ?? 'unknown'),
      evidence('Module', s.module?.nickname ?? 'unknown'),
    ]
    return hasModule(s) && s.radio?.moduleIds.includes(s.module.id)
      ? holds(`${s.module.nickname} is in ${s.radio.nickname}.`, shown)
      : broken('There is no module in the radio that this receiver could be reached by.', shown, [
          goByCable('Update by cable.'),
        ])
  },
}

const moduleOn = moduleRule({
  id: 'module-on',
  claim: 'The module is switched on.',
  source: COMMON_PRACTICE,
  enforcedBy: 'radio',
  check: s =>
    s.module.on
      ? holds('The module is switched on.', [evidence('Module on', true)])
      : broken(
          'The module is switched off.',
          [evidence('Module on', false)],
          [
            {
              id: 'switch-module-on',
              label: 'Switch the module on.',
              apply: bench => withUnit(bench, 'modules', s.module.id, { on: true }),
              minutes: 1,
              reversible: true,
            },
          ],
        ),
})

const moduleHardware = moduleRule({
  id: 'module-hardware',
  claim: "The module's hardware can transmit the receiver's generation.",
  source: `${COMMON_PRACTICE}: an update neither adds nor removes a generation that the hardware has or lacks`,
  enforcedBy: 'module',
  check: s => {
    const { generations } = s.moduleType
    const wanted = s.receiver.generation
    const shown = [
      evidence('Module can transmit', isKnown(generations) ? generations.join(', ') : 'unknown'),
      evidence('Receiver is generation', wanted),
    ]
    if (!isKnown(generations) || !isKnown(wanted))
      return notKnown('What the module can transmit, or what the receiver listens for, is not known.', shown)
    return generations.includes(wanted)
      ? holds(`The module can transmit generation ${wanted}.`, shown)
      : broken(
          `The module cannot transmit generation ${wanted}, and no update of it will change that.`,
          shown,
          [goByCable('Update by cable; to fly, bind the receiver to a module that has this generation.')],
        )
  },
})

const moduleGeneration = moduleRule({
  id: 'module-generation',
  claim: "The module is set for the receiver's generation.",
  source: COMMON_PRACTICE,
  enforcedBy: 'module',
  check: s => {
    const wanted = s.receiver.generation
    const shown = [
      evidence('Module is set for', s.module.generation),
      evidence('Receiver is generation', wanted),
    ]
    if (!isKnown(wanted) || !isKnown(s.module.generation))
      return notKnown(
        'The generation that is set in the module, or that of the receiver, is not known.',
        shown,
      )
    if (s.module.generation === wanted) return holds(`Both are set for generation ${wanted}.`, shown)
    const can = isKnown(s.moduleType.generations) && s.moduleType.generations.includes(wanted)
    return broken(
      `The module is set for generation ${s.module.generation}, the receiver listens for ${wanted}.`,
      shown,
      can
        ? [
            {
              id: 'set-module-generation',
              label: `Set the module for generation ${wanted}.`,
              apply: bench => withUnit(bench, 'modules', s.module.id, { generation: wanted }),
              minutes: 1,
              reversible: true,
            },
          ]
        : [goByCable('Update by cable.')],
    )
  },
})

const moduleBand = moduleRule({
  id: 'module-band',
  claim: "The module is on the receiver's band.",
  source: COMMON_PRACTICE,
  enforcedBy: 'module',
  check: s => {
    const { bands } = s.receiverType
    const shown = [evidence('Module is on', s.module.band), evidence('Receiver works on', bands.join(', '))]
    if (bands.includes(s.module.band)) return holds(`Both are on ${s.module.band}.`, shown)
    const shared = s.moduleType.bands.find(band => bands.includes(band))
    return broken(
      `The module is on ${s.module.band}, the receiver works on ${bands.join(', ')}.`,
      shown,
      shared
        ? [
            {
              id: 'set-module-band',
              label: `Set the module for ${shared}.`,
              apply: bench => withUnit(bench, 'modules', s.module.id, { band: shared }),
              minutes: 1,
              reversible: true,
            },
          ]
        : [goByCable('Update by cable: this module has no band in common with the receiver.')],
    )
  },
})

const moduleRegion = moduleRule({
  id: 'module-region',
  claim: 'Module and receiver share the air in the same way.',
  source: 'ETSI EN 300 328; 47 CFR 15.247',
  enforcedBy: 'module',
  check: s => {
    const shown = [
      evidence('Module', isKnown(s.module.region) ? regionWords[s.module.region] : 'unknown'),
      evidence('Receiver', isKnown(s.receiver.region) ? regionWords[s.receiver.region] : 'unknown'),
    ]
    if (!isKnown(s.module.region) || !isKnown(s.receiver.region))
      return notKnown('The region of the module or of the receiver is not known.', shown)
    return s.module.region === s.receiver.region
      ? holds(`Both are for ${regionWords[s.module.region]}.`, shown)
      : broken(
          `The module is for ${regionWords[s.module.region]}, the receiver for ${regionWords[s.receiver.region]}.`,
          shown,
          [goByCable('Update the receiver by cable, with the image for the region of the module.')],
        )
  },
})

const moduleWireless = moduleRule({
  id: 'module-wireless',
  claim: 'The module can carry an update by air.',
  source: COMMON_PRACTICE,
  enforcedBy: 'module',
  check: s => {
    const shown = [evidence('Can carry an update', s.moduleType.wirelessUpdate)]
    if (!isKnown(s.moduleType.wirelessUpdate))
      return notKnown('Whether this module can carry an update by air is not known.', shown)
    return s.moduleType.wirelessUpdate
      ? holds('The module can carry an update by air.', shown)
      : broken('This module cannot carry an update by air.', shown, [goByCable('Update by cable.')])
  },
})

/** The pairing that speaks about receivers of a family with this firmware and generation, if the catalogue has one. */
export const pairingOf = (
  { catalogue }: Bench,
  family: string,
  firmware: Known<string>,
  generation: Known<number>,
): Pairing | undefined =>
  isKnown(firmware)
    ? catalogue.pairings.find(
        p =>
          p.family === family &&
          p.generation === generation &&
          semver.satisfies(firmware, p.receiverFirmware, { includePrerelease: true }),
      )
    : undefined

/** The pairing for the receiver as it is. */
export const pairingFor = ({ bench, receiver, receiverType }: Situation): Pairing | undefined =>
  pairingOf(bench, receiverType.family, receiver.firmware, receiver.generation)

const moduleFirmware = moduleRule({
  id: 'module-firmware',
  claim: "The module's firmware works with the receiver's firmware.",
  source: `${COMMON_PRACTICE}: a receiver whose firmware is far from the module's is not offered by air, and is after one update by cable`,
  enforcedBy: 'module',
  check: s => {
    const pairing = pairingFor(s)
    const shown = [
      evidence('Module runs', s.module.firmware),
      evidence('Receiver runs', s.receiver.firmware),
      evidence('Receiver needs module', pairing?.moduleFirmware ?? 'unknown'),
    ]
    if (!isKnown(s.module.firmware) || pairing === undefined)
      return notKnown('Which module firmware this receiver works with is not known.', shown)
    if (semver.satisfies(s.module.firmware, pairing.moduleFirmware, { includePrerelease: true }))
      return holds(`Module ${s.module.firmware} and receiver ${s.receiver.firmware} work together.`, shown)
    const tooNew = semver.gtr(s.module.firmware, pairing.moduleFirmware, { includePrerelease: true })
    return broken(
      `The module's ${s.module.firmware} is too ${tooNew ? 'new' : 'old'} for the receiver's ${s.receiver.firmware}, which needs ${pairing.moduleFirmware}.`,
      shown,
      [
        goByCable('Update the receiver once by cable.'),
        ...(tooNew ? [] : [updateModule(s, pairing.moduleFirmware)]),
      ],
      tooNew ? 'above' : 'below',
    )
  },
})

export const updateModule = (s: WithModule, range: string): Remedy => ({
  id: 'update-module',
  label: `Update the module to firmware ${range}.`,
  apply: bench =>
    withUnit(bench, 'modules', s.module.id, {
      firmware: semver.minVersion(range)?.version ?? s.module.firmware,
    }),
  minutes: 15,
  reversible: true,
})

const wirelessType: Rule = {
  id: 'wireless-type',
  claim: 'This type of receiver takes an update by air.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'receiver',
  applies: wireless,
  check: s => {
    const shown = [evidence('Takes an update by air', s.receiverType.wirelessUpdate)]
    if (!isKnown(s.receiverType.wirelessUpdate))
      return notKnown('Whether this type takes an update by air is not known.', shown)
    return s.receiverType.wirelessUpdate
      ? holds('This type takes an update by air.', shown)
      : broken('This type takes an update by cable only.', shown, [goByCable('Update by cable.')])
  },
}

const firstByCable: Rule = {
  id: 'first-by-cable',
  claim: 'The firmware on the receiver is new enough to be updated by air.',
  source: `${COMMON_PRACTICE}: a factory-fresh receiver may refuse the wireless update, and takes it after one update by cable`,
  severity: 'block',
  enforcedBy: 'receiver',
  applies: s => wireless(s) && s.receiverType.wirelessFrom !== undefined,
  check: s => {
    const { wirelessFrom } = s.receiverType
    const shown = [evidence('Receiver runs', s.receiver.firmware), evidence('By air from', wirelessFrom)]
    if (wirelessFrom === undefined || !isKnown(wirelessFrom) || !isKnown(s.receiver.firmware))
      return notKnown('Whether the firmware on the receiver is new enough is not known.', shown)
    return semver.gte(s.receiver.firmware, wirelessFrom)
      ? holds(`${s.receiver.firmware} can be updated by air.`, shown)
      : broken(
          `Firmware ${s.receiver.firmware} cannot be updated by air yet; ${wirelessFrom} and later can.`,
          shown,
          [goByCable('Update it once by cable.')],
        )
  },
}

/** Asked in this order, so the first broken one is the one that a radio would name. */
export const linkRules: readonly Rule[] = [
  modulePresent,
  moduleOn,
  moduleWireless,
  moduleHardware,
  moduleBand,
  moduleGeneration,
  moduleRegion,
  wirelessType,
  moduleFirmware,
  firstByCable,
]
