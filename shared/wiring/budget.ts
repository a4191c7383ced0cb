import type { ReceiverType } from '../model/catalogue.ts'
import { type Feed, voltsAt } from './feed.ts'

/** What a supply has to carry, in milliamperes. */
export interface Load {
  readonly startMilliamps: number
  readonly mostMilliamps: number
}

export interface SupplyVerdict {
  readonly range: 'within' | 'too-low' | 'too-high'
  /** At the receiver's pins under the largest load. */
  readonly lowestVolts: number
  readonly startVolts: number
  /** It neither resets under the largest load nor fails to start. */
  readonly carries: boolean
}

/** One supply against what the label of the receiver says and what the receiver draws: Ohm's law. */
export function judgeSupply(feed: Feed, needs: ReceiverType['supply'], load: Load): SupplyVerdict {
  const { openVolts } = feed
  const lowestVolts = voltsAt(feed, load.mostMilliamps)
  const startVolts = voltsAt(feed, load.startMilliamps)
  return {
    range: openVolts > needs.mostVolts ? 'too-high' : openVolts < needs.leastVolts ? 'too-low' : 'within',
    lowestVolts,
    startVolts,
    carries: lowestVolts >= needs.brownOutVolts && startVolts >= needs.restartVolts,
  }
}
