import compare from 'semver/functions/compare.js'
import { isKnown } from '../model/units.ts'
import type { Situation } from './situation.ts'

export const AFTERWARDS = ['bind', 'settings', 'new', 'failsafe', 'surfaces', 'range', 'no-flight'] as const
export type AfterwardsId = (typeof AFTERWARDS)[number]
/** One thing that has to be done again before the model flies. */
export interface Afterwards {
  readonly id: AfterwardsId
  readonly text: string
}

/** Does the image make the receiver speak another generation than now? */
export function isConversion({ image, receiver }: Situation): boolean {
  if (image === undefined) return false
  return (
    image.convertsFrom !== undefined ||
    (isKnown(image.generation) && isKnown(receiver.generation) && image.generation !== receiver.generation)
  )
}

/**
 * What has to be done again before the model flies, in this order. It is advice and no rule: nothing here can be
 * broken. Common practice, no source; the manual of the receiver and local rules go first.
 */
export function afterwardsOf(s: Situation): Afterwards[] {
  const { image, receiver } = s
  const isOlder =
    image !== undefined &&
    isKnown(image.version) &&
    isKnown(receiver.firmware) &&
    compare(image.version, receiver.firmware) < 0
  const all: (Afterwards | undefined)[] = [
    {
      id: 'bind',
      text: isConversion(s)
        ? 'Bind again: the receiver speaks another generation now.'
        : 'Check that it is still bound; bind again if it is not.',
    },
    isOlder
      ? {
          id: 'settings',
          text: 'Check every setting of the receiver: older firmware may not keep what newer firmware had stored, or read it otherwise.',
        }
      : undefined,
    receiver.factoryFresh
      ? {
          id: 'new',
          text: 'It has never been updated before: set outputs, rates and failsafe as for a new receiver.',
        }
      : undefined,
    {
      id: 'failsafe',
      text: 'Set the failsafe again and test it: switch the radio off with the model held and the drive disconnected. Do it after each new bind too.',
    },
    { id: 'surfaces', text: 'Check channel order and direction of each surface.' },
    {
      id: 'range',
      text: 'Range check at reduced power, about 30 m or 30 paces, as the radio’s manual says.',
    },
    {
      id: 'no-flight',
      text: 'No flight before failsafe and range check have been passed, and written down.',
    },
  ]
  return all.filter(one => one !== undefined)
}

/** The same as sentences. */
export const afterwardsFor = (s: Situation): string[] => afterwardsOf(s).map(({ text }) => text)
