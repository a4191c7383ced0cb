import type { LinkEnds } from '../air/path.ts'
import { bandMegahertz } from '../model/units.ts'
import type { Situation } from './situation.ts'

/**
 * Both ends of the air in numbers, or undefined without a module.
 * @param antennaLossDb what the receiver's antenna takes away from its gain
 */
export function linkEndsOf(s: Situation, antennaLossDb = 0): LinkEnds | undefined {
  if (s.module === undefined || s.moduleType === undefined) return undefined
  return {
    megahertz: bandMegahertz[s.module.band],
    metres: s.wiring.distanceMetres,
    powerDbm: s.moduleType.powerDbm,
    transmitGainDbi: s.moduleType.antennaGainDbi,
    receiveGainDbi: s.receiverType.air.antennaGainDbi - antennaLossDb,
    sensitivityDbm: s.receiverType.air.sensitivityDbm,
    overloadDbm: s.receiverType.air.overloadDbm,
  }
}
