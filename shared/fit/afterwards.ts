import compare from 'semver/functions/compare.js'
import { isKnown } from '../model/units.ts'
import type { Situation } from './situation.ts'

/**
 * What has to be done again before the model flies. It is advice and no rule: nothing here can be broken. Common
 * practice, no source; the manual of the receiver and local rules go first.
 */
export function afterwardsFor(s: Situation): string[] {
  const { image, receiver } = s
  const isConverted =
    image?.convertsFrom !== undefined ||
    (image !== undefined &&
      isKnown(image.generation) &&
      isKnown(receiver.generation) &&
      image.generation !== receiver.generation)
  const isOlder =
    image !== undefined &&
    isKnown(image.version) &&
    isKnown(receiver.firmware) &&
    compare(image.version, receiver.firmware) < 0
  return [
    isConverted
      ? 'Bind again: the receiver speaks another generation now.'
      : 'Check that it is still bound; bind again if it is not.',
    ...(isOlder
      ? [
          'Check every setting of the receiver: older firmware may not keep what newer firmware had stored, or read it otherwise.',
        ]
      : []),
    ...(receiver.factoryFresh
      ? ['It has never been updated before: set outputs, rates and failsafe as for a new receiver.']
      : []),
    'Set the failsafe again and test it: switch the radio off with the model held and the drive disconnected. Do it after each new bind too.',
    'Check channel order and direction of each surface.',
    'Range check at reduced power, about 30 m or 30 paces, as the radio’s manual says.',
    'No flight before failsafe and range check have been passed, and written down.',
  ]
}
